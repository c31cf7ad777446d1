"""What publishes a site: MkDocs, a finished site put in place, a server at home, PDFs."""
