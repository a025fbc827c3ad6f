"""The nouns of the trade as frozen values, and replay: what an entry does to what is held."""
