"""cropplan: the record, the rounds and the season of a small heated glasshouse on fish water."""

__version__ = "0.1.0"
