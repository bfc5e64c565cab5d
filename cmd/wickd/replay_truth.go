package main

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"time"

	"wickd/model"
)

// truth is what was so at a site while it was recorded: a simulation knows it,
// scales and a dipstick measure some of it.
type truth struct {
	water  map[string]*series // of a bag, m³/m³
	uptake map[string]*series // of a bag, L since the first row
	volume *series            // of the site's only reservoir, L
	leaked *series            // out of it, L since the first row
	ec, ph *series            // of the solution in it, mS/cm at 25 °C
	from   time.Time          // of the first row
	to     time.Time          // of the last
}

func newTruth() *truth {
	return &truth{water: map[string]*series{}, uptake: map[string]*series{}, volume: &series{}, leaked: &series{}, ec: &series{}, ph: &series{}}
}

// truthTable is a truth as it is written: one row for each time. What is not
// known is null or left out.
type truthTable struct {
	Bags []string   `json:"bags"`
	Rows []truthRow `json:"rows"`
}

type truthRow struct {
	Time   time.Time  `json:"tst"`
	Water  []*float64 `json:"theta"`    // m³/m³, in the order of the bags
	Uptake []*float64 `json:"uptake_l"` // L since the start, in the order of the bags
	Volume *float64   `json:"vol"`      // L in the reservoir
	Leaked *float64   `json:"leak_l"`   // L since the start
	EC     *float64   `json:"ec"`       // of the reservoir, mS/cm at 25 °C
	PH     *float64   `json:"ph"`       // of the reservoir
}

// truthNames are the files that are taken for the truth of a recording beside
// which they lie.
func truthNames() []string { return []string{"truth.json", "truth.json.gz"} }

// truthOf reads what is so, from the file asked for or from one that lies beside
// the recording; nil: there is none.
func (r replayCommand) truthOf(site *model.Site, c console) (*truth, error) {
	if r.Plot == "" {
		return nil, nil
	}
	if r.Truth != "" {
		return readTruth(r.Truth, site)
	}
	for _, name := range truthNames() {
		path := filepath.Join(filepath.Dir(r.Capture), name)
		if _, err := os.Stat(path); err != nil || r.Capture == "-" {
			continue
		}
		t, err := readTruth(path, site)
		if err != nil {
			note(c, "%v; the pictures are drawn without it", err)
			return nil, nil
		}
		note(c, "what %s says was so is drawn in the pictures", path)
		return t, nil
	}
	return nil, nil
}

// readTruth reads a table of JSON, compressed or not, that is of this site.
func readTruth(path string, site *model.Site) (*truth, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("truth: %w", err)
	}
	defer func() { _ = file.Close() }()
	var table truthTable
	if err := table.read(file); err != nil {
		return nil, fmt.Errorf("truth: %s: %w", path, err)
	}
	t, err := table.of(site)
	if err != nil {
		return nil, fmt.Errorf("truth: %s: %w", path, err)
	}
	return t, nil
}

const truthHint = `it has to be one JSON object, {"bags": ["a1", …], "rows": [{"tst": RFC 3339, "theta": [m³/m³ of each bag], "uptake_l": [L since the start], "vol": L, "leak_l": L since the start, "ec": mS/cm, "ph": pH}, …]}, and what is not known may be left out`

func (t *truthTable) read(file io.Reader) error {
	start := bufio.NewReader(file)
	in := io.Reader(start)
	if magic, _ := start.Peek(2); bytes.Equal(magic, []byte{0x1f, 0x8b}) { // RFC 1952 §2.3.1
		unzip, err := gzip.NewReader(start)
		if err != nil {
			return fmt.Errorf("damaged: %w", err)
		}
		in = unzip
	}
	d := json.NewDecoder(in)
	if err := d.Decode(t); err != nil {
		return fmt.Errorf("%s; %s", inWords(err), truthHint)
	}
	switch _, err := d.Token(); {
	case errors.Is(err, gzip.ErrChecksum):
		return errors.New("it was damaged after it was written: its checksum is wrong, and figures in it may be wrong, too; make it anew")
	case err != io.EOF:
		return errors.New("something stands after its JSON object; " + truthHint)
	}
	if len(t.Rows) == 0 {
		return errors.New("it has no rows; " + truthHint)
	}
	return nil
}

// inWords says what is wrong with JSON without the names that only Go knows.
func inWords(err error) string {
	var kind *json.UnmarshalTypeError
	var at *time.ParseError
	switch {
	case errors.As(err, &kind):
		return fmt.Sprintf("%s is a %s", kind.Field, kind.Value)
	case errors.As(err, &at):
		return fmt.Sprintf("%s is no time, such as 2026-06-01T08:00:00Z", at.Value)
	}
	return err.Error()
}

// of gives the table as courses of the parts of a site.
func (t *truthTable) of(site *model.Site) (*truth, error) {
	out, own := newTruth(), false
	out.from, out.to = t.span()
	for _, id := range t.Bags {
		if out.water[id] != nil {
			return nil, fmt.Errorf("bag %q is there twice", id)
		}
		out.water[id], out.uptake[id] = &series{}, &series{}
		own = own || slices.ContainsFunc(site.Bags, func(b model.Bag) bool { return b.ID == id })
	}
	for i, row := range t.Rows {
		if i > 0 && !row.Time.After(t.Rows[i-1].Time) {
			return nil, fmt.Errorf("row %d is of %s, no later than the row before it", i+1, row.Time.Format(time.RFC3339))
		}
		if err := t.add(out, row); err != nil {
			return nil, fmt.Errorf("row %d: %w", i+1, err)
		}
	}
	if len(t.Bags) > 0 && !own {
		return nil, fmt.Errorf("none of its bags is of this site: it has %s", list(quoted(t.Bags)))
	}
	if out.empty() {
		return nil, errors.New("it has no figure that is drawn; " + truthHint)
	}
	if len(site.Reservoirs) != 1 {
		none := newTruth() // of which one, it does not say
		out.volume, out.leaked, out.ec, out.ph = none.volume, none.leaked, none.ec, none.ph
	}
	return out, nil
}

// empty says that a truth has nothing to draw.
func (t *truth) empty() bool {
	n := len(t.volume.at) + len(t.leaked.at) + len(t.ec.at) + len(t.ph.at)
	for _, all := range []map[string]*series{t.water, t.uptake} {
		for _, s := range all {
			n += len(s.at)
		}
	}
	return n == 0
}

// span is when the first and the last figure are of.
func (t *truthTable) span() (from, to time.Time) { return t.Rows[0].Time, t.Rows[len(t.Rows)-1].Time }

func (t *truthTable) add(to *truth, row truthRow) error {
	for _, column := range []struct {
		name      string
		values    []*float64
		to        map[string]*series
		low, high float64
	}{{"theta", row.Water, to.water, 0, 1}, {"uptake_l", row.Uptake, to.uptake, -mostLitres, mostLitres}} {
		if n := len(column.values); column.values != nil && n != len(t.Bags) {
			return fmt.Errorf("%s has %s for %s", column.name, plural(n, "figure", "figures"), plural(len(t.Bags), "bag", "bags"))
		}
		for i, v := range column.values {
			if err := column.to[t.Bags[i]].add(row.Time, v, column.low, column.high); err != nil {
				return fmt.Errorf("%s of %s %w", column.name, t.Bags[i], err)
			}
		}
	}
	for _, column := range []struct {
		name      string
		value     *float64
		to        *series
		low, high float64
	}{
		{"vol", row.Volume, to.volume, 0, mostLitres}, {"leak_l", row.Leaked, to.leaked, -mostLitres, mostLitres},
		{"ec", row.EC, to.ec, 0, 20}, {"ph", row.PH, to.ph, 0, 14},
	} {
		if err := column.to.add(row.Time, column.value, column.low, column.high); err != nil {
			return fmt.Errorf("%s %w", column.name, err)
		}
	}
	return nil
}

// mostLitres is more than a house holds.
const mostLitres = 1e6

// add adds a value if it is known; it has to lie within bounds.
func (s *series) add(at time.Time, value *float64, low, high float64) error {
	if value == nil {
		return nil
	}
	if !(*value >= low && *value <= high) {
		return fmt.Errorf("is %g; it has to lie between %g and %g", *value, low, high)
	}
	s.at, s.values = append(s.at, at), append(s.values, *value)
	return nil
}

// perDay gives a total as what it grew by over the time before each of its
// times, a day; not where nothing is known of so long a time.
func (s *series) perDay(before time.Duration) *series {
	out, from := &series{}, 0
	for i, at := range s.at {
		for at.Sub(s.at[from]) > before {
			from++
		}
		const enough = 0.8 // of the time
		if over := at.Sub(s.at[from]); over.Hours() >= enough*before.Hours() {
			out.at = append(out.at, at)
			out.values = append(out.values, (s.values[i]-s.values[from])/(over.Hours()/24))
		}
	}
	return out
}
