"""Status codes of the kernels. The caller raises; see `roofspring.network.simulate`."""

OK = 0
NOT_FINITE = 1
"""A content stopped being a number."""
