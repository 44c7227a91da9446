package phone

import "thwart/tongue"

func init() {
	pure("tongue.load", "The language in which the engine says what it says, from this call on; without words it speaks English.", loadTongue)
}

func loadTongue(in tongue.Book) (None, error) {
	tongue.Use(&in)
	return None{}, nil
}
