"""prepcheck: checks artwork for record labels and sleeves before plates are made."""

__version__ = "0.1.0"
