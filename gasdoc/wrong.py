"""What is raised for a value that cannot be taken, and for what cannot be done as asked."""

from __future__ import annotations


class Wrong(ValueError):
    """`message` says what is wrong, `hint` what would be right. What more is given makes it up again in another process."""

    def __init__(self, message: str, hint: str, *more: object) -> None:
        super().__init__(message, hint, *more)
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        return f"{self.message}; {self.hint}"


class Refused(Exception):
    """Something that cannot be done as asked; the message says what would be right."""
