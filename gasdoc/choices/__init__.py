"""From appliances and distances to a design: what to choose, each choice worked out by the same methods as a build that stands."""
