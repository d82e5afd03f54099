"""Where sound comes from and goes to: offers microphones and players, of devices and of files."""
