"""The board's widgets: each draws one thing and only draws."""
