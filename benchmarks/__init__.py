"""Speed, told as ratios between contestants that run side by side in one process."""
