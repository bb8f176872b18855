"""What is drawn and worded for people: charts, limit lines, odds."""
