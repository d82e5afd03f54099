"""From frames to hearings: offers the ear, its profile of a voice, and the check of a microphone."""
