package kit

import _ "embed" // the texts

// The files of the catalogue, each a string of its own: what is embedded so is
// never copied, and a cold start reads what it asks for and no more.
var (
	//go:embed catalogue/bells.handful
	bellsText string
	//go:embed catalogue/effects.handful
	effectsText string
	//go:embed catalogue/found.handful
	foundText string
	//go:embed catalogue/hands.handful
	handsText string
	//go:embed catalogue/implements.handful
	implementsText string
	//go:embed catalogue/keyboards.handful
	keyboardsText string
	//go:embed catalogue/marching.handful
	marchingText string
	//go:embed catalogue/membranes.handful
	membranesText string
	//go:embed catalogue/metals.handful
	metalsText string
	//go:embed catalogue/shaken.handful
	shakenText string
	//go:embed catalogue/woods.handful
	woodsText string
)

// catalogueFiles is every file of the catalogue, in the order of their names.
var catalogueFiles = [...]struct {
	name string
	text *string
}{
	{"bells.handful", &bellsText},
	{"effects.handful", &effectsText},
	{"found.handful", &foundText},
	{"hands.handful", &handsText},
	{"implements.handful", &implementsText},
	{"keyboards.handful", &keyboardsText},
	{"marching.handful", &marchingText},
	{"membranes.handful", &membranesText},
	{"metals.handful", &metalsText},
	{"shaken.handful", &shakenText},
	{"woods.handful", &woodsText},
}
