"""What pages are made of, whatever they say: words and their setting, tables, links, photos, handwritten text."""
