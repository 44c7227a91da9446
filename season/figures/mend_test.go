package figures_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"thwart"
	"thwart/season/figures"
)

func TestMendTakesWhatIsDoubtedAsNotKnown(t *testing.T) {
	for _, c := range []struct {
		name, doubt string
		kind        thwart.Kind
		body, want  string
		fields      int
	}{
		{"a round in no time", figures.DoubtRushed, thwart.KindInspection,
			`{"inspection":{"checks":[{"place":"hull.keel","looked":"yes","felt":"yes","wet":"dry"}],"findings":[{"place":"hull.keel"}],"others":{"looked":"yes"}},"odd":1.50}`,
			`{"inspection":{"checks":[{"place":"hull.keel","wet":"dry"}],"findings":[{"place":"hull.keel"}],"others":{}},"odd":1.50}`, 1},
		{"a round in no time, judged clean by it", figures.DoubtRushed, thwart.KindInspection,
			`{"inspection":{"checks":[{"place":"hull.keel","looked":"yes"}]},"verdict":{"outcome":"launch","reasons":[{"code":"all_met"},{"code":"still_drying"}],"settled":56,"standards":[{"met":"yes","standard":"clean"},{"met":"no","standard":"dry"}]}}`,
			`{"inspection":{"checks":[{"place":"hull.keel"}]},"verdict":{"outcome":"launch","reasons":[{"code":"still_drying"}],"settled":0,"standards":[{"met":"","standard":"clean"},{"met":"no","standard":"dry"}]}}`, 2},
		{"a wash", figures.DoubtVolumes, thwart.KindWash, `{"kit":"k","waterL":90000}`, `{"kit":"k"}`, 1},
		{"one finding of two", figures.DoubtVolumes, thwart.KindInspection,
			`{"inspection":{"findings":[{"place":"a","volumeL":12},{"place":"b","volumeL":40000}]}}`,
			`{"inspection":{"findings":[{"place":"a","volumeL":12},{"place":"b"}]}}`, 1},
		{"wet and dry", figures.DoubtWetDry, thwart.KindInspection,
			`{"verdict":{"reasons":[{"code":"all_met"}],"standards":[{"met":"yes","standard":"clean"},{"met":"yes","standard":"dry"}]}}`,
			`{"verdict":{"reasons":[],"standards":[{"met":"yes","standard":"clean"},{"met":"no","standard":"dry"}]}}`, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, fields, err := figures.Mend(c.doubt, c.kind, json.RawMessage(c.body))
			if err != nil || string(got) != c.want || len(fields) != c.fields {
				t.Errorf("%v %+v\n got %s\nwant %s", err, fields, got, c.want)
			}
			// A second time there is nothing left to mend, and that is said rather than kept as a correction of nothing.
			if _, _, err := figures.Mend(c.doubt, c.kind, got); !strings.Contains(errorText(err), "a record that this doubt points at") {
				t.Errorf("mended twice: %v", err)
			}
		})
	}
	var fields thwart.FieldErrors
	if _, _, err := figures.Mend(figures.DoubtTwoPlaces, thwart.KindInspection, json.RawMessage(`{}`)); !errors.As(err, &fields) || fields[0].Field != "mend" {
		t.Errorf("a doubt without a fix: %v", err)
	}
}

func errorText(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}
