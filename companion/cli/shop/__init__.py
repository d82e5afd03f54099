"""The commands about the shop as a whole: its report, what it says of itself, shops compared, a demo."""
