"""What the commands stand on: environment, front end, processes, services."""
