"""The kernels on a device: one run a thread, from the sources that the processor's kernels have."""
