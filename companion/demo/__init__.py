"""Invented jobs for whoever tries the program, or shows it: `companion demo`.

It offers `demo_logs` (the logs of an invented shop); `shop` draws how long its work really takes.
"""
