"""Drawings made on the server as SVG, so that they print and need no script."""
