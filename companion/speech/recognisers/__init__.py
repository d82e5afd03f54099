"""What judges a clip: offers the embedded recogniser, Vosk, and a scripted one for tests."""
