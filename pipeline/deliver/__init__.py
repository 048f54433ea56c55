"""From letters to readers, once each."""
