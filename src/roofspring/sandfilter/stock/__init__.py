"""Making the sand that is wanted from the sand that can be had."""

from roofspring.sandfilter.stock.amounts import (
    GRAIN_KG_PER_M3,
    Purchase,
    Settling,
    Washing,
    sand_to_buy,
    settling_velocity,
    washing,
)
from roofspring.sandfilter.stock.blend import Blend, LeftOut, Stock, blend
from roofspring.sandfilter.stock.split import (
    RealCut,
    Split,
    Wanted,
    real_cuts,
    split_stock,
    wanted_sand,
    widest_cut,
)

__all__ = [
    "GRAIN_KG_PER_M3",
    "Blend",
    "LeftOut",
    "Purchase",
    "RealCut",
    "Settling",
    "Split",
    "Stock",
    "Wanted",
    "Washing",
    "blend",
    "real_cuts",
    "sand_to_buy",
    "settling_velocity",
    "split_stock",
    "wanted_sand",
    "washing",
    "widest_cut",
]
