"""The job itself, and it is pure: state and message in, events and things to say out (`decide`)."""
