"""The movement workshop: what a movement profile does, measured; profiles made from goals and from recordings."""
