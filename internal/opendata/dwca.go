package opendata

import (
	"encoding/csv"
	"encoding/xml"
	"io"
	"strconv"
	"strings"

	"thwart"
	"thwart/refdata"
)

// dwcField is a column of a file of the archive, or, where it has a value, one value for all of its rows.
type dwcField struct{ ns, term, value string }

func (f dwcField) iri() string { return refdata.OpenTermNamespaces[f.ns] + f.term }

func col(ns string, terms ...string) []dwcField {
	var out []dwcField
	for _, t := range terms {
		out = append(out, dwcField{ns, t, ""})
	}
	return out
}

// Row types of the files (TDWG Darwin Core; Humboldt Extension, whose row type is the class Event of its namespace).
const (
	rowEvent       = "http://rs.tdwg.org/dwc/terms/Event"
	rowOccurrence  = "http://rs.tdwg.org/dwc/terms/Occurrence"
	rowMeasurement = "http://rs.tdwg.org/dwc/terms/MeasurementOrFact"
	rowHumboldt    = "http://rs.tdwg.org/eco/terms/Event"
)

const (
	interception = "Interception on a craft or trailer out of the water. It is no occurrence of the organism in the water body at the launch: " +
		"do not map it as an infestation."
	looksMiss = "Looked for by a trained steward and not seen. A look misses some of what is there: this is no proof of absence."
	// launchUncertaintyM is how far from the given point of a launch a craft may have stood: an assumption, larger than a phone's error.
	launchUncertaintyM = 50
)

// dwcFile is a file of the archive.
type dwcFile struct {
	name, rowType string
	core          bool
	columns       []dwcField // the first is the id or the core's id
	defaults      []dwcField
}

func (o Options) dwcFiles(r *region) []dwcFile {
	licence := o.licence()
	var scope []string
	for _, t := range r.targets {
		if org, ok := refdata.OrganismByID(t); ok {
			scope = append(scope, org.Scientific)
		}
	}
	id := col("dwc", "eventID")
	return []dwcFile{
		{"event.csv", rowEvent, true,
			append(id, col("dwc", "parentEventID", "eventType", "eventDate", "samplingProtocol", "samplingEffort", "sampleSizeValue", "sampleSizeUnit",
				"locationID", "locality", "waterBody", "decimalLatitude", "decimalLongitude", "coordinateUncertaintyInMeters", "eventRemarks",
				"dataGeneralizations", "informationWithheld")...),
			[]dwcField{
				{"dwc", "geodeticDatum", "EPSG:4326"}, {"dwc", "habitat", "on trailered watercraft, out of the water"}, {"dwc", "datasetName", o.Title},
				{"dcterms", "license", licence.URL}, {"dcterms", "rightsHolder", o.Publisher}, {"dcterms", "bibliographicCitation", o.citation()},
				{"dcterms", "language", "en"},
			}},
		{"occurrence.csv", rowOccurrence, false,
			append(id, col("dwc", "occurrenceID", "occurrenceStatus", "scientificName", "taxonRank", "taxonID", "vernacularName", "verbatimIdentification",
				"identificationQualifier", "vitality", "lifeStage", "organismQuantity", "organismQuantityType", "pathway", "recordedByID", "occurrenceRemarks")...),
			[]dwcField{{"dwc", "basisOfRecord", "HumanObservation"}, {"dwc", "identificationVerificationStatus", "as named by the steward"}}},
		{"measurement.csv", rowMeasurement, false,
			append(id, col("dwc", "measurementID", "measurementType", "measurementValue", "measurementUnit", "measurementMethod", "measurementRemarks")...), nil},
		{"humboldt.csv", rowHumboldt, false,
			append(id, col("eco", "isTaxonomicScopeFullyReported", "isAbsenceReported", "absentTaxa", "isSamplingEffortReported", "samplingEffortValue", "samplingEffortUnit")...),
			[]dwcField{
				{"eco", "targetTaxonomicScope", strings.Join(scope, " | ")}, {"eco", "hasNonTargetTaxa", "true"}, {"eco", "isAbundanceReported", "false"},
				{"eco", "hasVouchers", "false"}, {"eco", "samplingPerformedBy", "trained stewards"},
				{"eco", "protocolNames", "walk round craft, trailer and gear: look, feel, open"},
			}},
	}
}

// archive writes a Darwin Core Archive.
type archive struct {
	w     *walker
	files []dwcFile
	parts []*part
	csv   []*csv.Writer
	rows  [4]int64
}

const (
	inEvents = iota
	inOccurrences
	inMeasurements
	inHumboldt
)

func (w *walker) openArchive(p *pack) (*archive, error) {
	a := &archive{w: w, files: w.opt.dwcFiles(w.region)}
	for _, f := range a.files {
		x, err := p.create(f.name)
		if err != nil {
			return nil, err
		}
		out := csv.NewWriter(x)
		a.parts, a.csv = append(a.parts, x), append(a.csv, out)
		head := make([]string, len(f.columns))
		for i, c := range f.columns {
			head[i] = c.term
		}
		if err := out.Write(head); err != nil {
			return nil, err
		}
	}
	return a, a.season()
}

func (a *archive) add(file int, cells ...string) error {
	a.rows[file]++
	for i, c := range cells {
		if strings.ContainsAny(c, "\n\r\t") { // a line of the file is a row
			cells[i] = strings.Join(strings.Fields(c), " ")
		}
	}
	return a.csv[file].Write(cells)
}

const seasonID = "season"

// season is the event that everything belongs to.
func (a *archive) season() error {
	o := a.w.opt
	return a.add(inEvents, seasonID, "", "Project", span(a.w.first, a.w.last), "", "", "", "", "", "", "", "", "", "", o.Title, a.generalised(), "")
}

func (a *archive) generalised() string {
	if a.w.opt.Copy == Public {
		return "Dates are given as weeks. Launch, craft class and last water are left out where fewer than 5 craft share them."
	}
	return ""
}

// span writes an ISO 8601 interval; nothing where either end is not known.
func span(a, b string) string {
	if a == "" || b == "" {
		return ""
	}
	return a + "/" + b
}

func (a *archive) where(launch string) (locality, water, lat, lon, uncertainty string) {
	l := a.w.region.launches[launch]
	if l == nil {
		return
	}
	if w := a.w.region.waters[l.Water]; w != nil {
		water = w.Name
	}
	return l.Name, water, degrees(l.At.Lat()), degrees(l.At.Lon()), strconv.Itoa(launchUncertaintyM)
}

func (a *archive) look(l *look) error {
	parent := l.Session
	if parent == "" {
		parent = seasonID
	}
	date := span(weekSpan(l.Week))
	if l.Week == "" {
		date = span(a.w.first, a.w.last)
	}
	if !l.Started.IsZero() {
		date = stamp(l.Started)
		if !l.Ended.IsZero() {
			date = span(date, stamp(l.Ended))
		}
	}
	withheld := "Registration, people and notes are not given out."
	if len(l.Withheld) > 0 {
		withheld += " Left out of this record: " + strings.Join(l.Withheld, ", ") + "."
	}
	locality, water, lat, lon, unc := a.where(l.Launch)
	err := a.add(inEvents, l.ID, parent, "WatercraftInspection", date, l.Protocol, "one craft with trailer and gear", "1", "watercraft",
		l.Launch, locality, water, lat, lon, unc, interception, generalisation(l), withheld)
	if err != nil {
		return err
	}
	if err := a.facts(l); err != nil {
		return err
	}
	found := map[string]bool{}
	for i := range l.Findings {
		f := &l.Findings[i]
		found[f.Organism] = true
		if err := a.finding(l, i, f); err != nil {
			return err
		}
	}
	var absent []string
	if l.Complete {
		for _, t := range a.w.region.targets {
			if !found[t] {
				o, _ := refdata.OrganismByID(t)
				absent = append(absent, o.Scientific)
			}
		}
	}
	return a.add(inHumboldt, l.ID, strconv.FormatBool(l.Complete), strconv.FormatBool(l.Complete), strings.Join(absent, " | "), "false", "", "")
}

func generalisation(l *look) string {
	if l.Started.IsZero() {
		return "date given as a week or season"
	}
	return ""
}

// facts writes what an inspection measured or established.
func (a *archive) facts(l *look) error {
	n := 0
	fact := func(kind, value, unit, method, remarks string) error {
		if value == "" {
			return nil
		}
		n++
		return a.add(inMeasurements, l.ID, l.ID+"-m"+strconv.Itoa(n), kind, value, unit, method, remarks)
	}
	for _, f := range [][4]string{
		{"craft class", l.Class, "", "seen"},
		{"direction", l.Direction, "", "asked"},
		{"water last used", l.LastWater, "", "boater statement"},
		{"status of water last used", l.LastStatus, "", "programme's register on the day the craft left it"},
		{"drain plugs out", answerWord(l.PlugsOut), "", "seen"},
		{"outcome", string(l.Outcome), "", "rules named in samplingProtocol"},
		{"refused", strconv.FormatBool(l.Refused), "", ""},
	} {
		if err := fact(f[0], f[1], f[2], f[3], ""); err != nil {
			return err
		}
	}
	for i := range l.Findings {
		f := &l.Findings[i]
		id := l.ID + "-f" + strconv.Itoa(i+1)
		if err := fact("place on craft", f.Place, "", "seen or felt", "of finding "+id); err != nil {
			return err
		}
		if living(f) {
			continue
		}
		if err := fact("matter found", string(f.Matter), "", "seen or felt", "of finding "+id); err != nil {
			return err
		}
		if err := fact("volume of water found", number(f.VolumeL), "L", "estimated by eye", "of finding "+id); err != nil {
			return err
		}
	}
	return nil
}

func (a *archive) finding(l *look, i int, f *thwart.Finding) error {
	if !living(f) {
		return nil
	}
	found, _ := a.w.vocabulary().words()
	n := nameOf(f)
	quantity, kind := f.Amount, "individuals"
	switch {
	case quantity == "":
		kind = ""
	case f.Matter == thwart.MatterPlant:
		kind = "pieces"
	}
	return a.add(inOccurrences, l.ID, l.ID+"-f"+strconv.Itoa(i+1), found, n.name, n.rank, n.taxonID, n.common, n.verbatim, n.qualifier,
		string(f.Vitality), f.Stage, quantity, kind, pathwayOf(f), l.Steward, interception+" Found on: "+f.Place+".")
}

func (w *walker) vocabulary() Vocabulary {
	if w.opt.Vocabulary == "" {
		return Detected
	}
	return w.opt.Vocabulary
}

func (a *archive) wash(id, inspection string, w *thwart.WashDone) error {
	met := stepsMet(w)
	if err := a.add(inMeasurements, inspection, id+"-steps", "wash steps done as the rules ask", strconv.Itoa(met), "of "+strconv.Itoa(len(w.Steps)), "logged", ""); err != nil {
		return err
	}
	if w.WaterL <= 0 {
		return nil
	}
	return a.add(inMeasurements, inspection, id+"-water", "water used to wash", number(w.WaterL), "L", "logged", "")
}

func stepsMet(w *thwart.WashDone) int {
	met := 0
	for _, s := range w.Steps {
		if s.Outcome == "met" {
			met++
		}
	}
	return met
}

func (a *archive) session(s *session) error {
	date := span(weekSpan(s.Week))
	if a.w.opt.Copy == Agency && !s.From.IsZero() {
		if date = stamp(s.From); !s.To.IsZero() {
			date = span(date, stamp(s.To))
		}
	}
	hours := number(round2(s.Hours))
	effort := ""
	if hours != "" {
		effort = hours + " steward-hours"
	}
	size := ""
	if s.Inspections > 0 {
		size = strconv.Itoa(s.Inspections)
	}
	unit := ""
	if size != "" {
		unit = "watercraft"
	}
	locality, water, lat, lon, unc := a.where(s.Launch)
	err := a.add(inEvents, s.ID, seasonID, "SiteVisit", date, "", effort, size, unit, s.Launch, locality, water, lat, lon, unc, "Stewards at a launch. "+interception,
		"", "People are not named.")
	if err != nil {
		return err
	}
	_, not := a.w.vocabulary().words()
	var absent []string
	for t, id := range a.w.region.targets {
		if !a.w.absent(s, t) {
			continue
		}
		n := nameOf(&thwart.Finding{Organism: id, Matter: thwart.MatterOther})
		absent = append(absent, n.name)
		err := a.add(inOccurrences, s.ID, s.ID+"-a"+strconv.Itoa(t+1), not, n.name, n.rank, n.taxonID, n.common, "", "", "", "", "", "", "", "", looksMiss)
		if err != nil {
			return err
		}
	}
	return a.add(inHumboldt, s.ID, strconv.FormatBool(s.Inspections > 0 && s.Complete == s.Inspections), strconv.FormatBool(len(absent) > 0),
		strings.Join(absent, " | "), strconv.FormatBool(hours != ""), hours, unitOf(hours, "steward-hours"))
}

func unitOf(value, unit string) string {
	if value == "" {
		return ""
	}
	return unit
}

func (a *archive) place(bool, string, *region) error { return nil } // places are columns of events

// close ends the files and adds what describes them.
func (a *archive) close(p *pack) error {
	for i, out := range a.csv {
		out.Flush()
		if err := out.Error(); err != nil {
			return err
		}
		if err := a.parts[i].close(); err != nil {
			return err
		}
		a.parts[i].Rows = a.rows[i]
	}
	if err := p.add("meta.xml", func(w io.Writer) error { return writeMeta(w, a.files) }); err != nil {
		return err
	}
	return p.add("eml.xml", a.w.writeEML)
}

// metaFile, metaID and metaField are the elements of meta.xml (TDWG Darwin Core Text Guide, tdwg_dwc_text.xsd 0.1).
type metaFile struct {
	Encoding    string      `xml:"encoding,attr"`
	Fields      string      `xml:"fieldsTerminatedBy,attr"`
	Lines       string      `xml:"linesTerminatedBy,attr"`
	Enclosed    string      `xml:"fieldsEnclosedBy,attr"`
	IgnoreLines int         `xml:"ignoreHeaderLines,attr"`
	RowType     string      `xml:"rowType,attr"`
	Location    []string    `xml:"files>location"`
	ID          *metaID     `xml:"id"`
	CoreID      *metaID     `xml:"coreid"`
	Columns     []metaField `xml:"field"`
}

type metaID struct {
	Index int `xml:"index,attr"`
}

type metaField struct {
	Index     *int   `xml:"index,attr,omitempty"`
	Term      string `xml:"term,attr"`
	Default   string `xml:"default,attr,omitempty"`
	Delimited string `xml:"delimitedBy,attr,omitempty"`
}

type metaDoc struct {
	XMLName    xml.Name   `xml:"http://rs.tdwg.org/dwc/text/ archive"`
	Metadata   string     `xml:"metadata,attr"`
	Core       metaFile   `xml:"core"`
	Extensions []metaFile `xml:"extension"`
}

func writeMeta(w io.Writer, files []dwcFile) error {
	doc := metaDoc{Metadata: "eml.xml"}
	for _, f := range files {
		m := metaFile{Encoding: "UTF-8", Fields: ",", Lines: `\n`, Enclosed: `"`, IgnoreLines: 1, RowType: f.rowType, Location: []string{f.name}}
		for i, c := range f.columns {
			if i == 0 && !f.core {
				continue // the core's id is no column of its own
			}
			at := i
			field := metaField{Index: &at, Term: c.iri()}
			if c.term == "absentTaxa" {
				field.Delimited = " | "
			}
			m.Columns = append(m.Columns, field)
		}
		for _, c := range f.defaults {
			m.Columns = append(m.Columns, metaField{Term: c.iri(), Default: c.value})
		}
		if f.core {
			m.ID = &metaID{0}
			doc.Core = m
			continue
		}
		m.CoreID = &metaID{0}
		doc.Extensions = append(doc.Extensions, m)
	}
	if _, err := io.WriteString(w, xml.Header); err != nil {
		return err
	}
	e := xml.NewEncoder(w)
	e.Indent("", "  ")
	if err := e.Encode(doc); err != nil {
		return err
	}
	_, err := io.WriteString(w, "\n")
	return err
}
