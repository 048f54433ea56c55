"""The command `holdtime`: one function a command, one module a group of commands."""
