"""The work without a screen: sweeps, replays, audits. No textual, no print, no words for people."""
