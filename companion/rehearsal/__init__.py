"""The whole job run on rendered audio, with no sound hardware."""
