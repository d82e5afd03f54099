"""Sound as samples: offers clips from files, levels, shaping, a look at a microphone, and echo cancelling."""
