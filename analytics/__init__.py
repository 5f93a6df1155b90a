"""The science of Skidbook: pure functions over arrays and frames; no files, clock, settings or global random."""
