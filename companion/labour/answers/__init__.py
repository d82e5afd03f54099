"""What the model is asked.

It offers `times` (how long steps take), `quote` and `quote_page`, `left` (how long is left), and the choices:
`ways`, `extra` and `away`. For the shop: `presence` (hours by person and day) and `quoted` (quotes against
actual).
"""
