"""What leaves the house: letters of a month, the daily watch. Above run, as tryout is."""
