"""Analyses of the feed water, and how far a train can concentrate it."""
