"""A study in other forms than pages: JSON, findings for other programs, choices as text, calendar and feed."""
