"""What each page's template gets: one module a page, each with a function `view`. Words and layout only."""
