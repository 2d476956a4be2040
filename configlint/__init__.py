"""configlint: checks plant flow-meter configuration files by a declarative rule set."""

__all__ = ["__version__"]

__version__ = "0.1.0"
