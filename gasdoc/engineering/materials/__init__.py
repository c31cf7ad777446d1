"""What a build is made of: the take-off. Pure functions on plain values, as in `gasdoc.engineering`."""
