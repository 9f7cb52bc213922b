package trace

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func plain() Reading {
	return Reading{
		Separator: ',', Decimal: '.', FirstLine: 1, Block: 1, FromNS: -anything, ToNS: anything,
		Time: TimeColumn{At: 1, UnitNS: second}, Pressure: Column{At: 2, Same: true},
	}
}

func whole1(t *testing.T, text string, r Reading) Piece {
	t.Helper()
	p := Read([]byte(text), true, &r, State{})
	if p.Used != len(text) {
		t.Fatalf("used %d of %d bytes", p.Used, len(text))
	}
	return p
}

// pressures and times as written in the cells, in the form of RFC 4180 section 2 and its usual
// variants.
func TestForms(t *testing.T) {
	clock := func(r *Reading) { r.Time = TimeColumn{Form: Clocked, At: 1} }
	date := func(order string) func(*Reading) {
		return func(r *Reading) { r.Time = TimeColumn{Form: Dated, At: 1, Order: order} }
	}
	semicolon := func(r *Reading) { r.Separator, r.Decimal = ';', ',' }
	for _, c := range []struct {
		name, text string
		set        func(*Reading)
		t, p       []float64
	}{
		{"plain", "0,1\n1,2\n", nil, []float64{0, 1}, []float64{1, 2}},
		{"no line end at the last row (RFC 4180 2.2)", "0,1\r\n1,2", nil, []float64{0, 1}, []float64{1, 2}},
		{
			"heading (2.3)", "t,p\r\n0,1\r\n1,2\r\n", func(r *Reading) { r.FirstLine = 2 }, []float64{0, 1},
			[]float64{1, 2},
		},
		{"quoted cells (2.5)", "\"0\",\"1\"\r\n\"1\",\"2\"\r\n", nil, []float64{0, 1}, []float64{1, 2}},
		{
			"line end inside quotes (2.6)", "0,1,\"a\r\nb\"\r\n1,2,\"c\"\"d,\"\r\n", nil, []float64{0, 1},
			[]float64{1, 2},
		},
		{"spaces around", " 0 , 1 \n 1 ,\t2\n", nil, []float64{0, 1}, []float64{1, 2}},
		{"only carriage returns", "0,1\r1,2\r", nil, []float64{0, 1}, []float64{1, 2}},
		{"byte order mark", "\xef\xbb\xbf0,1\n1,2\n", nil, []float64{0, 1}, []float64{1, 2}},
		{"decimal comma", "0,0;1,5\n0,5;2,25\n", semicolon, []float64{0, 0.5}, []float64{1.5, 2.25}},
		{
			"decimal comma in quotes", "\"0,0\",\"1,5\"\n\"0,5\",\"2,25\"\n",
			func(r *Reading) { r.Decimal = ',' }, []float64{0, 0.5}, []float64{1.5, 2.25},
		},
		{"tab", "0\t1\n1\t2\n", func(r *Reading) { r.Separator = '\t' }, []float64{0, 1}, []float64{1, 2}},
		{
			"comments between rows", "# a, \"b\n0,1\n#x\n1,2\n", func(r *Reading) { r.Comment = "#" },
			[]float64{0, 1}, []float64{1, 2},
		},
		{"empty lines", "\n0,1\n\n\n1,2\n,\n", nil, []float64{0, 1}, []float64{1, 2}},
		{
			"milliseconds since 1970", "1795000000123,1\n1795000000623,2\n",
			func(r *Reading) { r.Time.UnitNS = 1e6 }, []float64{0, 0.5}, []float64{1, 2},
		},
		{"an exponent", "0,1e-3\n1,-2.5E2\n", nil, []float64{0, 1}, []float64{1e-3, -250}},
		{
			"index and interval", "7,1\n8,2\n10,3\n",
			func(r *Reading) { r.Time = TimeColumn{Form: Indexed, At: 1, UnitNS: second / 10} },
			[]float64{0, 0.1, 0.3}, []float64{1, 2, 3},
		},
		{
			"no time at all", "x,1\nx,2\n",
			func(r *Reading) { r.Time = TimeColumn{Form: Indexed, UnitNS: second / 4} },
			[]float64{0, 0.25}, []float64{1, 2},
		},
		{
			"clock over midnight", "23:59:59.5,1\n00:00:00.25,2\n00:01,3\n", clock,
			[]float64{0, 0.75, 60.5}, []float64{1, 2, 3},
		},
		{
			"two midnights", "23:00,1\n01:00,2\n23:00,3\n01:00,4\n", clock,
			[]float64{0, 7200, 86400, 93600}, []float64{1, 2, 3, 4},
		},
		{"twelve hours", "11:59:59 PM,1\n12:00:01 am,2\n", clock, []float64{0, 2}, []float64{1, 2}},
		{"elapsed beyond a day", "23:59:59,1\n24:00:01,2\n", clock, []float64{0, 2}, []float64{1, 2}},
		{
			"RFC 3339 with zone", "2026-11-25T14:30:00Z,1\n2026-11-25T15:30:00.5+01:00,2\n", date("ymd"),
			[]float64{0, 0.5}, []float64{1, 2},
		},
		{
			"RFC 3339 without zone", "2026-11-25 14:30:00,1\n2026-11-26 14:30:00.001,2\n", date("ymd"),
			[]float64{0, 86400.001}, []float64{1, 2},
		},
		{"day first", "28.02.2028 23:59:59,1\n29.02.2028 00:00:00,2\n", date("dmy"), []float64{0, 1}, []float64{1, 2}},
		{
			"month first", "2/28/2026 11:59:59 PM,1\n3/1/2026 12:00:00 AM,2\n", date("mdy"), []float64{0, 1},
			[]float64{1, 2},
		},
		{
			"date and clock apart", "25.11.2026,1,23:59:59\n26.11.2026,2,00:00:01\n",
			func(r *Reading) { r.Time = TimeColumn{Form: Dated, At: 3, DateAt: 1, Order: "dmy"} },
			[]float64{0, 2},
			[]float64{1, 2},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := plain()
			if c.set != nil {
				c.set(&r)
			}
			p := whole1(t, c.text, r)
			var at, pressure []float64
			for _, x := range p.Samples {
				at, pressure = append(at, x.T), append(pressure, x.P)
			}
			if !slices.Equal(at, c.t) || !slices.Equal(pressure, c.p) {
				t.Errorf("t %v p %v, want %v %v; faults %v", at, pressure, c.t, c.p, p.Faults)
			}
			if len(p.Faults) > 0 {
				t.Errorf("faults %v", p.Faults)
			}
		})
	}
}

// TestFaults checks that a faulty row is reported at its line, and that every row is accounted for.
func TestFaults(t *testing.T) {
	contact := func(r *Reading) { r.Contact = Contact{At: 3, Actuated: []string{"closed"}, Rest: []string{"open"}} }
	for _, c := range []struct {
		name, text string
		set        func(*Reading)
		want       []Fault
		used       int
	}{
		{"backwards", "0,1\n2,1\n1,1\n3,1\n", nil, []Fault{{3, TimeBackwards, "1"}}, 3},
		{"twice", "0,1\n1,1\n1,2\n2,1\n", nil, []Fault{{3, TimeTwice, "1"}}, 3},
		{"a word", "0,1\n1,OVER\n2,1\n", nil, []Fault{{2, NotANumber, "OVER"}}, 2},
		{"digits in groups", "0,1\n1,\"1,234.5\"\n2,\"1,234,567\"\n", nil, nil, 3},
		{"a mark that may be either", "0,1\n1,\"1,234\"\n2,1\n", nil, []Fault{{2, NotANumber, "1,234"}}, 2},
		{"groups of two", "0,1\n1,\"12,34.5\"\n2,1\n", nil, []Fault{{2, NotANumber, "12,34.5"}}, 2},
		{"short", "0,1\n1\n2,1\n", nil, []Fault{{2, ShortRow, "1"}}, 2},
		{"no time", "0,1\nx,1\n2,1\n", nil, []Fault{{2, TimeForm, "x"}}, 2},
		{"open quote", "0,1\n1,\"1\n2,1\n", nil, []Fault{{2, BadQuote, "1,\"1"}}, 2},
		{"contact's word", "0,1,open\n1,1,ajar\n2,1,closed\n", contact, []Fault{{2, ContactWord, "ajar"}}, 2},
		{"contact still", "0,1,open\n1,1,OPEN\n", contact, []Fault{{0, ContactStill, ""}}, 2},
		{"nothing", "t,p\n", func(r *Reading) { r.FirstLine = 2 }, []Fault{{0, NoRows, ""}}, 0},
		{
			"unit too small", "0,1\n1,40\n2,50\n", func(r *Reading) { r.Plausible = 30 },
			[]Fault{{2, Implausible, "40"}}, 3,
		},
		{
			"unit too large", "0,0.01\n1,0.011\n", func(r *Reading) { r.Plausible = 30 }, []Fault{{0, Implausible, ""}},
			2,
		},
		{
			"below absolute zero", "0,1,-300\n1,1,20\n",
			func(r *Reading) { r.Temperature = Column{At: 3, Same: true} },
			[]Fault{{1, BelowZero, "-300"}}, 1,
		},
		{
			"zone that comes and goes", "2026-01-01T00:00:00Z,1\n2026-01-01T00:00:01,1\n",
			func(r *Reading) { r.Time = TimeColumn{Form: Dated, At: 1, Order: "ymd"} },
			[]Fault{{2, MixedZone, "2026-01-01T00:00:01"}}, 1,
		},
		{
			"a line end in quotes counts", "0,\"1\n1\"\n1,x\n", nil,
			[]Fault{{1, NotANumber, "1\n1"}, {3, NotANumber, "x"}, {0, NoRows, ""}}, 0,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := plain()
			if c.set != nil {
				c.set(&r)
			}
			p := whole1(t, c.text, r)
			if d := cmp.Diff(c.want, p.Faults); d != "" {
				t.Error(d)
			}
			if p.State.Used != c.used {
				t.Errorf("%d rows used, want %d", p.State.Used, c.used)
			}
		})
	}
}

func TestMissingIsCountedAndNotUsed(t *testing.T) {
	r := plain()
	r.Temperature, r.Barometer = Column{At: 3, Same: true}, Column{At: 4, Same: true}
	p := whole1(t, "0,1,20,9\n1,,20,9\n2,1,,9\n3,1,NaN,-\n4,1,20,9\n", r)
	if want := [4]int{1, 2, 1, 0}; p.State.Missing != want {
		t.Errorf("missing %v, want %v", p.State.Missing, want)
	}
	if p.State.Rows != 5 || p.State.Used != 2 || len(p.Samples) != 2 || len(p.Faults) != 0 {
		t.Errorf("%d rows, %d used, %d samples, faults %v", p.State.Rows, p.State.Used, len(p.Samples), p.Faults)
	}
}

// TestGaps: a step longer than allowed is reported. A clock set back is bridged only if that was
// confirmed, with the usual step.
func TestGaps(t *testing.T) {
	r := plain()
	r.GapNS = 3 * second
	r.Time.Bridge = true
	p := whole1(t, "0,1\n1,1\n2,1\n9,1\n10,1\n5,1\n6,1\n", r)
	want := []Gap{
		{Line: 4, From: 2 * second, To: 9 * second},
		{Line: 6, From: 10 * second, To: 5 * second, Bridged: 6 * second},
	}
	if d := cmp.Diff(want, p.Gaps); d != "" {
		t.Error(d)
	}
	if last := p.Samples[len(p.Samples)-1].T; last != 12 || len(p.Samples) != 7 {
		t.Errorf("ends at %v s with %d samples", last, len(p.Samples))
	}
}

// TestUnits: 14.5037738 psi is a bar (computed from 1 lbf = 4.4482216152605 N and 1 in = 0.0254 m);
// 68 degF are 20 degC.
func TestUnits(t *testing.T) {
	reply := Bytes([]byte(`{"do":"read","last":true,"reading":{"time":{"form":"number","column":1,"unit":"min"},"p":{"column":2,"unit":"psi","mode":"gauge"},`+
		`"temperature":{"column":3,"unit":"degF"},"barometer":{"column":4,"unit":"mbar"},"unit":"bar"}}`), []byte(
		"0,14.5037738,68,1013.25\n0.5,0,32,1000\n",
	), "x")
	var got struct {
		Samples struct {
			T           []float64 `json:"t_s"`
			P           []float64 `json:"p"`
			Temperature []float64 `json:"temperature_c"`
			Barometer   []float64 `json:"barometer_pa"`
		}
	}
	if err := json.Unmarshal(reply, &got); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name      string
		got, want []float64
	}{
		{"t_s", got.Samples.T, []float64{0, 30}}, {"p", got.Samples.P, []float64{1, 0}},
		{"temperature_c", got.Samples.Temperature, []float64{20, 0}}, {
			"barometer_pa", got.Samples.Barometer, []float64{101325, 100000},
		},
	} {
		if len(c.got) != len(c.want) {
			t.Fatalf("%s %v in %s", c.name, c.got, reply)
		}
		for i := range c.want {
			if math.Abs(c.got[i]-c.want[i]) > 1e-8*max(1, c.want[i]) {
				t.Errorf("%s %v, want %v", c.name, c.got, c.want)
			}
		}
	}
}

// TestWrittenByCSV: a file written by encoding/csv is read to the last bit, cut anywhere, with any
// line end.
func TestWrittenByCSV(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(t, "rows")
		var b bytes.Buffer
		w := csv.NewWriter(&b)
		separator := rapid.SampledFrom([]rune{',', ';', '\t', '|'}).Draw(t, "separator")
		w.Comma = separator
		w.UseCRLF = rapid.Bool().Draw(t, "crlf")
		odd := rapid.StringMatching("[a-z\"',;\n é]{0,12}")
		var want []Sample
		clock := int64(0)
		for i := range n {
			clock += int64(rapid.IntRange(1, 5000).Draw(t, "step")) * 1e6
			p := rapid.Float64Range(-1e6, 1e6).Draw(t, "p")
			if rapid.Bool().Draw(t, "short") {
				p = math.Round(p*1000) / 1000
			}
			if err := w.Write([]string{odd.Draw(t, "text"), strconv.FormatFloat(float64(clock)/1e9, 'f', -1, 64), odd.Draw(t, "text"), strconv.FormatFloat(p, byte("fge"[i%3]), -1, 64)}); err != nil {
				t.Fatal(err)
			}
			want = append(want, Sample{T: float64(clock) / 1e9, P: p})
		}
		w.Flush()
		first := want[0].T
		for i := range want {
			want[i].T = float64(int64(math.Round(want[i].T*1e9))-int64(math.Round(first*1e9))) / 1e9
		}
		r := plain()
		r.Separator, r.Time.At, r.Pressure.At = byte(separator), 2, 4
		got := Read(b.Bytes(), true, &r, State{})
		if d := cmp.Diff(want, got.Samples); d != "" || len(got.Faults) > 0 {
			t.Fatalf("%s\n%v\n%q", d, got.Faults, b.String())
		}
	})
}

// TestCuts: however a record is cut into pieces, samples, faults, gaps and counts are the same,
// through the state as a document too.
func TestCuts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := plain()
		r.Block = rapid.IntRange(1, 9).Draw(t, "block")
		r.Mean = rapid.Bool().Draw(t, "mean")
		r.GapNS = 3 * second
		r.Time.Bridge = rapid.Bool().Draw(t, "bridge")
		if !r.Mean {
			r.Contact = Contact{At: 3, Actuated: []string{"1"}, Rest: []string{"0"}}
		}
		row := rapid.Custom(func(t *rapid.T) string {
			return rapid.SampledFrom(
				[]string{
					"%d,%d.5,1", "%d,%d,0", "%d,%d,0", "%d,,0", "\"%d\",\"%d\",1", "%d,x,1%.0d",
					"7,%.0d%d,1", "%.0d%.0d", "%d,\"%d", "%d,%d,1,\"a\n\"\"b\"",
				},
			).Draw(t, "row")
		})
		var b strings.Builder
		for i := range rapid.IntRange(0, 40).Draw(t, "rows") {
			fmt.Fprintf(
				&b, row.Draw(t, "row")+rapid.SampledFrom([]string{"\n", "\r\n", "\n\n"}).Draw(t, "end"),
				i+3*rapid.IntRange(0, 2).Draw(t, "jump"), i%7,
			)
		}
		text := []byte(b.String())
		want := Read(text, true, &r, State{})
		got := Piece{}
		at, size := 0, 1
		for {
			end := min(len(text), at+size)
			p := Read(text[at:end], end == len(text), &r, got.State)
			got.Samples, got.Faults, got.Gaps = append(got.Samples, p.Samples...), append(got.Faults, p.Faults...), append(got.Gaps, p.Gaps...)
			got.State = p.State
			at += p.Used
			if end == len(text) {
				break
			}
			size = rapid.IntRange(1, 30).Draw(t, "size")
			if p.Used == 0 {
				size += end - at
			}
		}
		got.Used = want.Used
		if d := cmp.Diff(want, got); d != "" {
			t.Fatalf("%q: %s", text, d)
		}
	})
}
