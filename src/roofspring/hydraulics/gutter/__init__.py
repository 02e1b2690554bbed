"""Gutters, their outlets, downpipes and drains: the flow each carries before it spills."""
