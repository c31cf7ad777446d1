"""The container of a build: what it holds, the cold, how long it lasts, what holds it on."""
