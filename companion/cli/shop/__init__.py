"""The commands about the shop as a whole: report, hours, quotes, shops compared, what it is, a demo."""
