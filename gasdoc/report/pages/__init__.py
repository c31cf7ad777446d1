"""The pages of one build, with their templates and the glossary."""
