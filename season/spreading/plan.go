package spreading

import (
	"encoding/json"
	"fmt"

	"thwart"
	"thwart/season"
)

// Shift is what a forecast reads of a plan: hours of the day at a launch on every day of a kind.
type Shift struct {
	Launch string `json:"launch"`
	Day    string `json:"day"`
	From   int    `json:"from"`
	To     int    `json:"to"`
}

// planned reads the shifts of a plan record.
func planned(book *season.Book, id string) ([]Shift, string, error) {
	for i := range book.Plans {
		p := &book.Plans[i]
		if p.Subject != id {
			continue
		}
		var result struct {
			Shifts []Shift `json:"shifts"`
		}
		if err := json.Unmarshal(p.Body.Result, &result); err != nil || len(result.Shifts) == 0 {
			return nil, "", thwart.FieldErrors{{Field: "plan", Value: id, Accepted: fmt.Sprintf("a plan with shifts; %q has none", p.Body.Name)}}
		}
		return result.Shifts, p.Body.Name, nil
	}
	return nil, "", thwart.FieldErrors{{Field: "plan", Value: id, Accepted: "the id of a plan of the programme"}}
}
