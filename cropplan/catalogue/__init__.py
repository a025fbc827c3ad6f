"""What is known of crops, media, fish and duties, each figure with its source."""
