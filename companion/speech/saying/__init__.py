"""From words to sound: voices, tones, and the mouth that keeps sayings in order."""
