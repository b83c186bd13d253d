"""What the runs say afterwards: progress, words for a run, and the page for a coach."""
