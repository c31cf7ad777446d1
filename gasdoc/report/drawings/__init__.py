"""Drawings as SVG: the line, its schematic, charts, ways to hold a container, parts at true size."""
