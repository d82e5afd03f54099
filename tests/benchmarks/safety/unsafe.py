"""What the second opinion raises."""


class UnsafeError(AssertionError):
    """Something happened that must never happen."""


def check(holds: bool, what: str) -> None:
    if not holds:
        raise UnsafeError(what)
