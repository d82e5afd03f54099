"""Append, recover and read job logs."""
