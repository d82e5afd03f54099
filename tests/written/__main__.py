"""`python -m tests.written`: make anew what the pages take from the program."""

from tests.written.pages import write_all

print("\n".join(write_all()) or "every page is up to date")
