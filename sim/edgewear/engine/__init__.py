"""Joins the job's time to the lines' physics; the only room that touches the kernels."""
