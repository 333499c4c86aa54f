"""Every picture: one file a topic, each returning a figure; `style` holds what they share."""
