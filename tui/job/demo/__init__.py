"""The built-in engine as a job, and the hand that turns and taps it."""
