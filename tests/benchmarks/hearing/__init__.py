"""How well commands are heard (`heard`), how fast the answer comes (`live`), whether the program hears itself
(`itself`), how well free speech is written down (`dictation`); on `data` and `noises`.
"""
