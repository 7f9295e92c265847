"""What the commands share at the terminal: options, progress, the readout and the child process of watch."""
