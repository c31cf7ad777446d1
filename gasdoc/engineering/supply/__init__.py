"""The tree, its flow and its sizes: pure functions on plain SI numbers."""
