"""The proof that a build does not leak: tests asked, days, verdicts, and how far it has got."""
