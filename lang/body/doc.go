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
// (Solomon 2016). Reported: the rates of contests, and what is kept for a song.
// Each row of tables/rates.csv names its source and which of its times come
// from one; the rest are common practice.
//
// Where the limit stands is derived from how the sources spread, by 2.33
// standard deviations on a logarithmic scale, in shares_test.go:
//
//   - a way of the hand: 0.62 of Fitts's line, from the line's own misfit
//     (4 %), people (14 %, Box and Block) and a width known to 30 % (15 %); 0.50
//     to what is narrower than 8 cm, half way to the quickest leap between keys
//     that was ever reported. Never below the limit of the stroke it ends in.
//   - grasping, carrying, laying, walking, bending and their sums: 0.65 of the
//     floor, from people and one set-up against another (10 %). The floor of
//     taking from among others has G1B in place of the card's G4B, with which it
//     would be slower than people are on average.
//   - strokes again and again, by how many come in a row: up to four the least
//     time that anybody has been seen to make, up to thirty 0.8 of the fast
//     time, and 0.9 of it for more (people's tapping spreads by 11 %, and one
//     hand makes a stroke in 80 ms in a burst, in 94 for a minute, and in 100 at
//     its measured best). A row that is common practice alone has no limit of
//     its own, but that of its limb.
//
// A profile moves the borders with its floor: a student's are further off. A
// professional's are nearer, but never nearer than what anybody has been seen
// to do. Practice within a profile moves nothing, as Fitts's task shows.
//
// Modelled, that is ours and built on those: which motions a change is made
// of; Fitts's line as the floor of laying, taking and carrying, and 1.4 times
// it as a steady stroke; the factors of the profiles; the extra grasps and
// placings of what is awkward; the longest side step. From memory, and marked
// so in the tables: sitting, standing, and codes that no motion here uses.
//
// A single transition is good to perhaps 30 % either way. A verdict built on
// these times is an aid to judgement and no guarantee.
//
// The package never learns of scores, players' names or instruments, and it
// never reads a file: its tables are compiled in.
package body
