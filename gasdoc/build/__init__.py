"""From a spec's text to a Build: validated input with units and positions, nothing computed."""
