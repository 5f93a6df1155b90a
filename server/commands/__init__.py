"""What the commands of the command line do, one topic a file."""
