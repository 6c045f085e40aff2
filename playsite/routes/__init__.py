"""Ways that are driven or built: pure functions from shapes and ground to a route and its quantities."""
