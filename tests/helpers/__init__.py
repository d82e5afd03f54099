"""What several tests share, in one place.

`waiting`: waits for what must happen, with an end. `programs`: programs in processes of their own.
`commands`: the command line within this process. `terminal`: one that shows what is drawn, or stalls.
`logs`: what was written down. `sounds`: speech, hiss and recordings. `mechanic`: somebody who speaks to a
running companion and hears it out; `sound_card/` is the microphone that they speak into. `card`: that device,
plugged in and out. `sound_server`: a real one, without hardware.
"""
