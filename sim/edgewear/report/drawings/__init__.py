"""Drawings and charts as SVG."""
