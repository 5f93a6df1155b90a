"""Which element lies where, its history, and the permeate of single vessels."""
