"""The site of all builds: made, kept between runs, searched, with its home page and its reference."""
