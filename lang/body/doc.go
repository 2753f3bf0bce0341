// Package body says what a person can do and how long it takes.
//
// In come distances in centimetres and a profile. Out come motions: each with
// the words a player would use, the codes of the table it stands on, its
// source, and three times in seconds.
//
//   - limit: what one in a hundred reaches at full effort with everything
//     prepared. In a window shorter than that nobody whom one would book can
//     do it reliably, every night.
//   - floor: as fast as people do it on average when they do their utmost.
//   - steady: the pace of someone who does it all evening without fuss.
//
// Measured: the way of a hand to a target (Fitts 1954, table 1, 1 oz stylus,
// fitted in Shannon's form); reaching, moving, grasping, releasing, stepping,
// turning and walking (the MTM-1 card, Maynard, Stegemerten & Schwab 1948, in
// present values); looking up (MTM-2); tapping rates of drummers (Fujii and
// others, 2009 to 2011). Published as comfortable: rates of repeated strokes
// (Solomon 2016).
//
// Modelled, that is ours and built on those: which motions a change is made
// of; Fitts's line as the floor of laying, taking and carrying, and 1.4 times
// it as a steady stroke; the factors of the profiles; the floors of two
// mallets and of feet, in proportion to one hand's; the extra grasps and
// placings of what is awkward; the longest side step; where between nothing
// and the floor the limit stands. From memory, and marked
// so in the tables: sitting, standing, and codes that no motion here uses.
//
// A single transition is good to perhaps 30 % either way. A verdict built on
// these times is an aid to judgement and no guarantee.
//
// The package never learns of scores, players' names or instruments, and it
// never reads a file: its tables are compiled in.
package body
