"""Why the figures of options, what-if, switch-off advice, single losses and the brief are what they are."""
