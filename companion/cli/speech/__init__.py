"""Commands about hearing: offers `hear`, `phrases` and `models`."""
