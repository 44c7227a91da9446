package phone

import "thwart/tongue"

func init() {
	// The language in which the engine says what it says, from this call on; without words it speaks English.
	pure("tongue.load", loadTongue)
}

func loadTongue(in tongue.Book) (None, error) {
	tongue.Use(&in)
	return None{}, nil
}
