"""The pictures of the report, one module each. Each is drawn twice: for a phone and for paper or a desk."""
