"""Sound as samples: read from files, brought into shape, measured, and freed of the echo in it."""
