"""The outside world into samples; the only place with clocks and sockets."""
