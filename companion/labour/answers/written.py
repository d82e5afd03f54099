"""Lengths of work as they are written in tables and pages."""

from datetime import timedelta


def minutes(length: timedelta) -> str:
    """To a tenth of a minute."""
    return f"{length.total_seconds() / 60:.1f}"


def hours(length: timedelta) -> str:
    """To a hundredth of an hour, because that is what is billed."""
    return f"{length.total_seconds() / 3600:.2f} h"
