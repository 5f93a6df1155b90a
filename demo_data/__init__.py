"""The invented demo fleet: a physical simulator of RO trains, and the script that writes the fleet's files."""
