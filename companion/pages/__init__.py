"""The one HTML page of every paper: escaping, shell, look and pictures.

It offers `html` (a page and what it is made of) and `svg` (a chart).
"""
