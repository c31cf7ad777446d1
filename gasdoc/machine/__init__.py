"""What touches the machine: files, programs, copies of the process, the terminal."""
