"""What a channel's history says about whether its newest word can be believed. Pure.

``feed/validity.py`` judges one value by itself; here it is judged over time. One kind of doubt, one use:

| kind        | found when                                         | use of the newest word            |
|-------------|----------------------------------------------------|-----------------------------------|
| missing     | the feed: no word                                  | left out: last good one, ageing   |
| refused     | the feed: a word that cannot be taken              | left out: last good one, ageing   |
| stale       | the feed: no new word for too long                 | left out: last good one, ageing   |
| wrong unit  | a shift by the ratio of two units of its dimension | to the worse side as it is;       |
|             |                                                    | else left out: the one before     |
| stuck       | the same to the bit while it should have moved     | left out: since when it stands    |
| step        | a shift that stands, no cause within 2 minutes     | to the better side left out:      |
|             |                                                    | the one before; else as it is     |
| spike       | at most 2 readings far off                         | as of a wrong unit; told, and no  |
|             |                                                    | doubt, once it has come back      |
| disagrees   | with a second way of knowing, 3 to 10 readings     | lower: whichever leaves less      |
| drift       | against what was counted, growing steadily         | lower: whichever leaves less      |
| oscillating | a regular swing about the trend                    | averaged over whole periods       |

The better side is where a wrong word flatters: more in a store, less taken, less flowing; other channels
have none unless the caller names it. What stands in for a doubted word is never better than the word,
averages aside, so a shift to the worse side is used as it reads. A gain of a store or a fall of a counter
is never confirmed by standing, only by a cause (a refill logged); a meter's fall is, by ten minutes. What
is left out keeps the time at which it was said: whoever reads it sees it old and carries it forward. A
meter whose loads cycle is averaged without doubt.
"""
