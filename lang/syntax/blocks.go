package syntax

// A Seat says where a line belongs.
type Seat struct {
	Block Block // the block the line stands in, or opens
	Owner int   // the line that opened the part, player, instrument or kit; -1 in the head
	// Inner is the line of the kit when a kit stands inside a player; else -1.
	Inner int
}

// Seats finds the block of every line. Indentation and blank lines mean
// nothing: a block runs from its opening line to the next opening line, and
// statements of the head hold for the whole piece wherever they stand.
func (f *File) Seats() []Seat { return f.SeatsIn(make([]Seat, 0, len(f.Lines))) }

// SeatsIn is Seats in the room of an empty list.
func (f *File) SeatsIn(seats []Seat) []Seat {
	now := Seat{Block: InHead, Owner: -1, Inner: -1}
	for i, l := range f.Lines {
		seats = append(seats, now.next(i, l))
	}
	return seats
}

// SeatedAs says whether the lines from the one that opens a player's block up to another
// stand where the same lines of an earlier text stood.
func (f *File) SeatedAs(seats []Seat, from, to int) bool {
	now := Seat{Block: InHead, Owner: -1, Inner: -1}
	for i := from; i < to; i++ {
		if now.next(i, f.Lines[i]) != seats[i] {
			return false
		}
	}
	return true
}

// next is the seat of a line that comes in a block, which it may open, leave or end.
func (now *Seat) next(i int, l *Line) Seat {
	if l.Form == nil {
		return *now
	}
	inPlayer := now.Block == InPlayer || now.Inner >= 0
	switch {
	case l.Form.Opens == InKit && inPlayer:
		*now = Seat{Block: InKit, Owner: now.Owner, Inner: i}
	case l.Form.Opens != 0:
		*now = Seat{Block: l.Form.Opens, Owner: i, Inner: -1}
	case now.Inner >= 0 && l.Form.In&InHead != 0 && l.Form.In&InPlayer != 0: // a note between the lines of a kit
		return Seat{Block: InPlayer, Owner: now.Owner, Inner: -1}
	case l.Form.In&InHead != 0 && l.Form.In&now.Block == 0:
		return Seat{Block: InHead, Owner: -1, Inner: -1}
	case now.Inner >= 0 && l.Form.In&InPlayer != 0 && (l.Form.In&InKit == 0 || l.Form == rules().limb): // what fits nowhere ends nothing
		*now = Seat{Block: InPlayer, Owner: now.Owner, Inner: -1}
	}
	return *now
}

// Fits says whether the line's statement may stand where it does.
func (s Seat) Fits(l *Line) bool {
	return l.Form == nil || l.Form.Opens != 0 || l.Form.In&(s.Block) != 0 ||
		s.Block == InKit && s.Inner >= 0 && l.Form.In&InPlayer != 0
}
