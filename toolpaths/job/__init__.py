"""What people type, every value checked: job, setups, machine, wood and bits."""
