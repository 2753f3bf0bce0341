package score

import (
	"reflect"
	"testing"
	"unsafe"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

const everything = `meter 4/4
tempo 90
bars 4
part "P"
  triangle | "soft" 1 | 2
  marimba | 1:C4 2:D4 | 3:E4
player Ida
  hands both
  leads right
  never plays gongs because "loud"
  likes triangle
  kit
    station bells at right 300
    marimba at ahead 60
    triangle clipped at right 30 ahead 40
    tom-toms:high at left 60 ahead 40
    tom-toms:low at left 20 ahead 45
    double-pedal
    table at right 40 ahead 20
  R holds triangle-beater
  R triangle with triangle-beater as written in 1-2 of "P"
  L woodblock with yarn-mallet | 1 | 2
  RL marimba with yarn-mallet | 1:C4 | -
  L lays it at 3
`

// Whatever of a player or a part is another, it is not taken over. Every field is
// made another one by one, so that a new one cannot be forgotten.
func TestNothingOfAPlayerIsForgotten(t *testing.T) {
	bind := func() *Score { return Bind("t", syntax.Parse(everything), nil, Options{}) }
	was := bind()
	changed := 0
	try := func(what string, of func(*Score) any, same func(s *Score) bool) {
		require.True(t, same(bind()), what)
		for at := 0; ; at++ {
			s := bind()
			c := changer{at: at, seen: map[unsafe.Pointer]bool{}}
			c.change(reflect.ValueOf(of(s)).Elem(), what)
			if c.done == "" {
				break
			}
			changed++
			assert.False(t, same(s), "%s is another", c.done)
		}
	}
	try("Player", func(s *Score) any { return s.Players[0] }, func(s *Score) bool { return samePlayer(was.Players[0], s.Players[0]) })
	try("Part", func(s *Score) any { return s.Parts[0] }, func(s *Score) bool { return samePart(was.Parts[0], s.Parts[0]) })
	assert.Greater(t, changed, 200)
}

// A changer changes one thing of all that a value is made of: the at-th.
type changer struct {
	at   int
	done string
	seen map[unsafe.Pointer]bool
}

func (c *changer) change(v reflect.Value, path string) {
	if c.done != "" {
		return
	}
	if !v.CanSet() {
		v = reflect.NewAt(v.Type(), unsafe.Pointer(v.UnsafeAddr())).Elem()
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			c.change(v.Field(i), path+"."+v.Type().Field(i).Name)
		}
	case reflect.Array:
		for i := range v.Len() {
			c.change(v.Index(i), path)
		}
	case reflect.Slice:
		for i := range v.Len() {
			c.change(v.Index(i), path)
		}
		c.one(path+", shorter", v.Len() > 0, func() { v.SetLen(v.Len() - 1) })
	case reflect.Pointer:
		switch name := v.Type().Elem().Name(); name {
		case "Player", "Part": // back to whose it is
		case "Instrument", "Implement", "Way": // of a catalogue that is one and the same
			c.one(path, true, func() { v.Set(reflect.New(v.Type().Elem())) })
		default:
			c.one(path+", another", !v.IsNil() && name != "Cue" && name != "Action" && name != "Line", func() { v.Set(reflect.New(v.Type().Elem())) })
			if !v.IsNil() && !c.seen[v.UnsafePointer()] {
				c.seen[v.UnsafePointer()] = true
				c.change(v.Elem(), path)
			}
		}
	case reflect.String:
		c.one(path, true, func() { v.SetString(v.String() + "x") })
	case reflect.Bool:
		c.one(path, true, func() { v.SetBool(!v.Bool()) })
	case reflect.Float64:
		c.one(path, true, func() { v.SetFloat(v.Float() + 1) })
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		c.one(path, true, func() { v.SetInt(v.Int() + 1) })
	case reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		c.one(path, true, func() { v.SetUint(v.Uint() + 1) })
	default:
		panic("a kind of field that nothing is known of: " + path)
	}
}

func (c *changer) one(path string, can bool, change func()) {
	if !can || c.done != "" {
		return
	}
	if c.at == 0 {
		change()
		c.done = path
	}
	c.at--
}
