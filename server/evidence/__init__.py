"""Everything that shows how a train was run, in one file that cannot be changed unseen."""
