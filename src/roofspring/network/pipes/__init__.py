"""Pipes of a plan, part by part: what each carries, loses and holds, and where air stays."""

from roofspring.network.pipes.answer import Pipes, assess_pipes
from roofspring.network.pipes.rows import PipeCase, PipeRow

__all__ = ["PipeCase", "PipeRow", "Pipes", "assess_pipes"]
