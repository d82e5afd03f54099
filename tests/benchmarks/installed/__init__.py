"""What is measured of an install: how large it is, where it can be had, what each command loads."""
