package opendata

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"thwart/refdata"
)

// Elements of the metadata (Ecological Metadata Language 2.2.0, eml-dataset), in the order that its schema asks for.
type (
	emlDoc struct {
		XMLName xml.Name   `xml:"eml:eml"`
		NS      string     `xml:"xmlns:eml,attr"`
		Package string     `xml:"packageId,attr"`
		System  string     `xml:"system,attr"`
		Scope   string     `xml:"scope,attr"`
		Lang    string     `xml:"xml:lang,attr"`
		Dataset emlDataset `xml:"dataset"`
		More    emlMore    `xml:"additionalMetadata>metadata>gbif"`
	}
	emlDataset struct {
		Title      string        `xml:"title"`
		Creator    emlParty      `xml:"creator"`
		Provider   emlParty      `xml:"metadataProvider"`
		PubDate    string        `xml:"pubDate"`
		Language   string        `xml:"language"`
		Abstract   []string      `xml:"abstract>para"`
		Keywords   []string      `xml:"keywordSet>keyword"`
		Thesaurus  string        `xml:"keywordSet>keywordThesaurus"`
		Additional []string      `xml:"additionalInfo>para"`
		Rights     emlRights     `xml:"intellectualRights>para"`
		Geographic *emlBox       `xml:"coverage>geographicCoverage,omitempty"`
		Temporal   *emlSpan      `xml:"coverage>temporalCoverage,omitempty"`
		Taxa       []emlTaxon    `xml:"coverage>taxonomicCoverage>taxonomicClassification,omitempty"`
		Contact    emlParty      `xml:"contact"`
		Steps      []emlMethod   `xml:"methods>methodStep"`
		Sampling   *emlSampling  `xml:"methods>sampling"`
		Quality    []emlMethod   `xml:"methods>qualityControl"`
		Project    *emlProjected `xml:"project"`
	}
	emlParty struct {
		Organisation string `xml:"organizationName"`
		Email        string `xml:"electronicMailAddress,omitempty"`
		URL          string `xml:"onlineUrl,omitempty"`
	}
	emlRights struct {
		Text string `xml:",chardata"`
		Link struct {
			URL   string `xml:"url,attr"`
			Title string `xml:"citetitle"`
		} `xml:"ulink"`
	}
	emlBox struct {
		Text  string  `xml:"geographicDescription"`
		West  float64 `xml:"boundingCoordinates>westBoundingCoordinate"`
		East  float64 `xml:"boundingCoordinates>eastBoundingCoordinate"`
		North float64 `xml:"boundingCoordinates>northBoundingCoordinate"`
		South float64 `xml:"boundingCoordinates>southBoundingCoordinate"`
	}
	emlSpan struct {
		Begin string `xml:"rangeOfDates>beginDate>calendarDate"`
		End   string `xml:"rangeOfDates>endDate>calendarDate"`
	}
	emlTaxon struct {
		Rank   string `xml:"taxonRankName,omitempty"`
		Value  string `xml:"taxonRankValue"`
		Common string `xml:"commonName,omitempty"`
	}
	emlMethod struct {
		Text []string `xml:"description>para"`
	}
	emlSampling struct {
		Extent string `xml:"studyExtent>description>para"`
		Text   string `xml:"samplingDescription>para"`
	}
	emlProjected struct {
		Title        string `xml:"title"`
		Organisation string `xml:"personnel>organizationName"`
		Role         string `xml:"personnel>role"`
	}
	emlMore struct {
		Stamp    string `xml:"dateStamp"`
		Citation string `xml:"citation"`
	}
)

func (w *walker) box() *emlBox {
	b := emlBox{Text: "Launches of the programme", West: math.Inf(1), East: math.Inf(-1), South: math.Inf(1), North: math.Inf(-1)}
	for _, id := range w.region.launchIDs {
		p := w.region.launches[id].At
		b.West, b.East = min(b.West, p.Lon()), max(b.East, p.Lon())
		b.South, b.North = min(b.South, p.Lat()), max(b.North, p.Lat())
	}
	if len(w.region.launchIDs) == 0 {
		return nil
	}
	return &b
}

func (o Options) party() emlParty {
	p := emlParty{Organisation: o.Publisher}
	switch {
	case strings.Contains(o.Contact, "://"):
		p.URL = o.Contact
	case strings.Contains(o.Contact, "@"):
		p.Email = o.Contact
	}
	return p
}

// cautions are what a user of the data must know, in every form.
func (w *walker) cautions() []string {
	out := []string{
		"Organisms were found on craft, trailers and gear out of the water. These are interceptions. They are no occurrences of the organism in the water " +
			"body at the launch and must not be mapped as infestations; degree of establishment is left empty for that reason.",
		"Where nothing is reported, a trained steward looked and saw nothing. A look misses some of what is there.",
		"Launches and hours were chosen by the programme, so counts are no sample of all craft. Use the hours on site beside every count.",
		"Organisms are as the steward named them; no specimen stands behind a name unless a record says so.",
		"Where a craft was last is what its boater said.",
	}
	if w.opt.Copy == Public {
		out = append(out, "In this copy dates are weeks, and launch, craft class and last water are left out where fewer than 5 craft share them: "+
			"every record is among at least 5 that look the same in these.")
	}
	if w.opt.Demo {
		out = append(out, "All records are invented: this is a demonstration.")
	}
	return out
}

func (w *walker) writeEML(out io.Writer) error {
	o, l := w.opt, w.opt.licence()
	party := o.party()
	d := emlDataset{
		Title: o.Title, Creator: party, Provider: party, PubDate: o.MadeAt.UTC().Format(time.DateOnly), Language: "en",
		Abstract: []string{
			fmt.Sprintf("Inspections of trailered craft at the launches of %s: what craft were met, where they had been, what was found on them and what was done. "+
				"Each inspection is an event of a session of stewards at a launch; what was found is an occurrence of that event, and organisms that were "+
				"looked for in a session and not found are recorded as such.", o.Publisher),
			w.cautions()[0],
		},
		Keywords: []string{"interception", "pathway", "watercraft", "biosecurity", "samplingEvent"}, Thesaurus: "none", Additional: w.cautions(),
		Geographic: w.box(), Contact: party,
		Steps: []emlMethod{{[]string{"A steward at a launch asks which water the craft was in last and when, walks round craft, trailer and gear in a fixed order of places, looks, feels " +
			"and opens, and writes down what is found. Rules name what is owed before launch; the edition of the rules is in samplingProtocol."}}},
		Sampling: &emlSampling{"Launches of the programme while a shift was on.", "Every craft that came by while stewards were free; craft that passed by are counted, not inspected."},
		Quality:  []emlMethod{{[]string{"Records are only added to: a correction supersedes an earlier version, and the latest version is given here. Craft with planted test objects are left out."}}},
		Project:  &emlProjected{Title: o.Publisher, Organisation: o.Publisher, Role: "publisher"},
	}
	if len(w.region.protocols) > 0 {
		var ids []string
		for id := range w.region.protocols {
			ids = append(ids, id)
		}
		slices.Sort(ids)
		d.Steps[0].Text = append(d.Steps[0].Text, "Editions of the rules: "+strings.Join(ids, ", ")+".")
	}
	if w.first != "" {
		d.Temporal = &emlSpan{w.first, w.last}
	}
	for _, t := range w.region.targets {
		if org, ok := refdata.OrganismByID(t); ok {
			d.Taxa = append(d.Taxa, emlTaxon{rankOf(org), org.Scientific, org.Common})
		}
	}
	d.Rights.Text = "This work is licensed under "
	d.Rights.Link.URL, d.Rights.Link.Title = l.URL, l.Name
	doc := emlDoc{
		NS: "https://eml.ecoinformatics.org/eml-2.2.0", Package: w.madeUp("dataset", o.Title+" "+o.MadeAt.UTC().Format(time.RFC3339)), System: "thwart", Scope: "system",
		Lang: "en", Dataset: d, More: emlMore{o.MadeAt.UTC().Format(time.RFC3339), o.citation()},
	}
	if _, err := io.WriteString(out, xml.Header); err != nil {
		return err
	}
	e := xml.NewEncoder(out)
	e.Indent("", "  ")
	if err := e.Encode(doc); err != nil {
		return err
	}
	_, err := io.WriteString(out, "\n")
	return err
}
