"""Ways of rigging made from the anchors and means at hand, and judged as typed options are."""
