"""From a Study to pages: HTML, drawings, tables as CSV. Presentation only: nothing here computes a result."""
