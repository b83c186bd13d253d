"""What the shots say: pattern, chance, tuning, luck. The only layer with numpy."""
