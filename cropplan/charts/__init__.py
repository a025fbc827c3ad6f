"""Pictures, drawn from values; the drawing library is loaded only when one is drawn."""
