package disk

// What the tests look at beside what is for everybody.
const (
	Suffix    = suffix
	LeftAfter = leftAfter
)
