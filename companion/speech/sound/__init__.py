"""Sound as samples: where it comes from, where it goes, how loud it is, and the echo taken out."""
