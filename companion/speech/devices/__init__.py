"""Where sound comes from and where it goes: microphones, loudspeakers, and files in their place."""
