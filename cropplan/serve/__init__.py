"""The calendar feeds and the phone's pages over HTTP."""
