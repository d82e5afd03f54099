"""From words to sound: offers voices, tones, and the mouth that says things in order."""
