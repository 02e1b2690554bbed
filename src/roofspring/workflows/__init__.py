"""One function for each job of a user: what the command line, the site and notebooks call."""

from roofspring.workflows.answers import check, supply
from roofspring.workflows.demo import demo_record, write_demo
from roofspring.workflows.design import DesignAnswer, design
from roofspring.workflows.levels import FlowAnswer, levels
from roofspring.workflows.log import (
    LogAnswer,
    add_test,
    add_walk,
    backup_log,
    export_log,
    ready_to_add,
    show_log,
    write_sheet,
)
from roofspring.workflows.opening import open_plan, open_with_rain
from roofspring.workflows.records import (
    MadeRain,
    RainAnswer,
    RecordFile,
    fetch_rain,
    inspect_rain,
    make_rain,
    near_stations,
    read_rain,
)
from roofspring.workflows.safety import safety
from roofspring.workflows.sand import sand
from roofspring.workflows.sand_answer import SandAnswer
from roofspring.workflows.sand_request import SandRequest
from roofspring.workflows.storm import Asked as StormAsked
from roofspring.workflows.storm import storm
from roofspring.workflows.words import (
    doctor,
    explain_code,
    explain_value,
    free_place,
    new,
)

__all__ = [
    "DesignAnswer",
    "FlowAnswer",
    "LogAnswer",
    "MadeRain",
    "RainAnswer",
    "RecordFile",
    "SandAnswer",
    "SandRequest",
    "StormAsked",
    "add_test",
    "add_walk",
    "backup_log",
    "check",
    "demo_record",
    "design",
    "doctor",
    "explain_code",
    "explain_value",
    "export_log",
    "fetch_rain",
    "free_place",
    "inspect_rain",
    "levels",
    "make_rain",
    "near_stations",
    "new",
    "open_plan",
    "open_with_rain",
    "read_rain",
    "ready_to_add",
    "safety",
    "sand",
    "show_log",
    "storm",
    "supply",
    "write_demo",
    "write_sheet",
]
