"""`python -m companion` is the same door as the `companion` command."""

from companion.cli import main

if __name__ == "__main__":
    main()
