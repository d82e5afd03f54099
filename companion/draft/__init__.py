"""From deeds to a procedure: isolations first, the taking-apart as told, then the way home turned round.

What is not known is marked `review:` with a question. The same deeds always make the same procedure.
"""
