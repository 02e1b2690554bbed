"""The report: one page, its drawing and its charts."""
