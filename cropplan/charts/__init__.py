"""Pictures, drawn with a library that is loaded only when one is asked for."""
