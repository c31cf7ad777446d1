"""The line drawn: isometric, plan and side view, from the legs of a spec."""
