"""The JSON keys that stay: the contract with whoever reads our answers by program."""

SUPPLY_KEYS = {
    "years", "rain_mm_per_year", "fell_m3", "caught_m3", "wanted_m3", "delivered_m3",
    "spilled_m3", "served_frac", "days_short", "longest_short_days", "uses", "stores",
    "residual_m3", "findings",
}  # fmt: skip
USE_KEYS = {
    "id", "wanted_m3", "delivered_m3", "served_frac", "days_short", "longest_short_days",
}  # fmt: skip
STORE_KEYS = {"id", "start_m3", "end_m3", "min_m3", "mean_m3", "spilled_m3"}
CHECK_KEYS = {"code", "where", "state", "have_m", "need_m", "margin_m", "ok"}
EVENT_KEYS = {
    "kind", "where", "begins", "ends", "begins_s", "lasted_s", "volume_m3", "peak_m3_per_s",
    "to_part", "words",
}  # fmt: skip
SAND_KEYS = {
    "d10_mm", "d15_mm", "d50_mm", "d60_mm", "d85_mm", "d90_mm", "uniformity", "usable_frac",
    "too_fine_frac", "too_coarse_frac", "cut_fine_mm", "cut_coarse_mm", "layers", "findings",
}  # fmt: skip
LAYER_KEYS = {"low_mm", "high_mm", "thickness_mm"}
SAFETY_KEYS = {"paths", "risk", "findings"}
COST_KEYS = {
    "coin", "rate_frac", "years", "drunk_l_per_day", "stands", "as_it_stands",
    "as_it_stands_reaches", "as_it_stands_misses", "changes", "each", "says",
}  # fmt: skip
CHANGE_COST_KEYS = {"name", "words", "alone", "with_what_stands", "reaches", "misses"}
COST_SUM_KEYS = {
    "first_cost", "present_cost", "cost_per_year", "cost_per_year_at_0_percent",
    "cost_per_year_at_10_percent", "cost_per_m3",
}  # fmt: skip
PATH_KEYS = {"from", "to", "parts", "barriers", "log10", "bypass"}
RISK_KEYS = {
    "agent", "infections_per_person_year", "daly_per_person_year", "needed_log10", "counted_log10",
}  # fmt: skip
