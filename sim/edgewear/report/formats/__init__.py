"""A document as page, Markdown, text or table, and what makes text harmless there."""
