"""Numba kernels: arrays in, arrays filled, status codes out. Leaves of the import tree."""
