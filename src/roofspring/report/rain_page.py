"""The page on one rain record: what it holds, what is doubtful, and how heavy rain may come."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from roofspring.errors import Finding, RoofspringError, ranked
from roofspring.network.result import Provenance
from roofspring.rain.cloudburst import AnnualMaxima, DesignRain, annual_maxima, design_rain
from roofspring.rain.completeness import Completeness, completeness
from roofspring.rain.describe import RainSummary, describe
from roofspring.rain.futures.acceptance import AcceptanceTable
from roofspring.rain.quality import QualityReport, quality_report
from roofspring.rain.readers.frequency_csv import FrequencyTable
from roofspring.rain.record import RainRecord
from roofspring.report._rain_context import build_rain_context
from roofspring.report._svg import clean_text
from roofspring.report.rain_document import RainDocument
from roofspring.report.render import environment, fingerprint
