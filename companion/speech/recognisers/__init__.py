"""What judges a clip: the embedded model, Vosk, and the scripted one for tests."""
