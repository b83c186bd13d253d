"""Practice drills at the range, run shot by shot, with a best to beat next time."""

__version__ = "0.1.0"
