"""The science of Skidbook: pure functions over arrays and frames; no files, clock, settings or global random."""

__version__ = "0.1.0"
