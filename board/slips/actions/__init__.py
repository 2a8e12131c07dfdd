"""Whatever can move a standing or blank an initial; pages, API and sockets call this."""
