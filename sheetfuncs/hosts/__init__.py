"""The hosts: each carries the declared functions to one place where they are used."""
