"""Plan to document: one model, rendered to HTML and to PDF/A-3; drawings to scale."""
