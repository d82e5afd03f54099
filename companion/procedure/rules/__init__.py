"""Every rule that a procedure is held to, a module a topic: its code, what it means, why, and what to do.

`companion check --explain CODE` shows one. A check finds what goes against a rule; the rule tells about it.
"""
