package trace

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func guesses(v View) string {
	var list []string
	for _, c := range v.Columns {
		s := c.Guess
		if c.Unit != "" {
			s += "[" + c.Unit + "]"
		}
		list = append(list, s)
	}
	return strings.Join(list, " ")
}

// TestLook: the forms in which loggers write, with headings invented here.
func TestLook(t *testing.T) {
	for _, c := range []struct {
		name, text, want string
		separator        byte
		decimal          byte
		first            int
		order            string
	}{
		{
			"heading with units", "Time [s],Pressure [bar],Temp. (degC)\n0,1.0,20\n1,1.1,20\n2,1.2,20\n",
			"time[s] pressure[bar] temperature[degC]", ',', '.', 2, "",
		},
		{
			"unit row",
			"Zeit;Druck;Temperatur\ns;kPa;°C\n0,0;101,3;20,1\n0,5;101,4;20,1\n1,0;101,5;20,2\n",
			"time[s] pressure[kPa] temperature[°C]", ';', ',', 3, "",
		},
		{
			"lines before the heading",
			"Serial;12345\nOperator;A. Nobody\n\nTime;P/mbar\n0;1013,2\n1;1013,1\n2;1013,0\n",
			"time pressure[mbar]", ';', ',', 5, "",
		},
		{
			"comments and mark",
			"\xef\xbb\xbf# a logger\n# rate 1 Hz\nindex\tpressure_Pa\n1\t100.5\n2\t100.6\n3\t100.7\n",
			"index pressure[Pa]", '\t', '.', 4, "",
		},
		{
			"clock and contact",
			"Clock time,Pressure (bar),Contact\n23:59:59,1.0,open\n00:00:00,1.1,closed\n00:00:01,1.2,closed\n",
			"time pressure[bar] contact", ',', '.', 2, "",
		},
		{"dates", "Timestamp,Pressure psi,Baro [hPa]\n2026-11-25T10:00:00Z,10,1000\n2026-11-25T10:00:01Z,11,1000\n2026-11-25T10:00:02Z,12,1000\n", "time pressure[psi] barometer[hPa]", ',', '.', 2, "ymd"},
		{
			"day first",
			"Datum;Uhrzeit;Druck bar\n25.11.2026;10:00:00;1,5\n25.11.2026;10:00:01;1,6\n25.11.2026;10:00:02;1,7\n",
			"date time pressure[bar]", ';', ',', 2, "dmy",
		},
		{
			"day or month",
			"Time,Pressure\n01/02/2026 10:00:00,1.5\n01/02/2026 10:00:01,1.6\n01/02/2026 10:00:02,1.7\n",
			"time pressure", ',', '.', 2, "",
		},
		{"no heading", "0;1,5\n1;1,6\n2;1,7\n", "time pressure", ';', ',', 1, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			v, err := Look([]byte(c.text), true)
			if err != nil {
				t.Fatal(err)
			}
			if g := guesses(v); g != c.want {
				t.Errorf("guessed %q, want %q", g, c.want)
			}
			if v.Separator != c.separator || v.Decimal != c.decimal || v.FirstLine != c.first || v.Order != c.order {
				t.Errorf("separator %q decimal %q first %d order %q", v.Separator, v.Decimal, v.FirstLine, v.Order)
			}
		})
	}
}

func TestLookRefuses(t *testing.T) {
	for name, text := range map[string]string{"nothing": "", "only comments": "# a\n# b\n", "UTF-16": "\xff\xfet\x00,\x00"} {
		if v, err := Look([]byte(text), true); err == nil {
			t.Errorf("%s: %+v", name, v)
		}
	}
}

// TestLookFinds checks that Look recognises every form in which a record is written, and that a cut
// in the middle changes nothing.
func TestLookFinds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		separator := rapid.SampledFrom([]string{",", ";", "\t", "|"}).Draw(t, "separator")
		point := "."
		if separator != "," {
			point = rapid.SampledFrom([]string{".", ","}).Draw(t, "point")
		}
		units := rapid.SampledFrom([]string{"bar", "kPa", "psi", "Pa"}).Draw(t, "unit")
		var b strings.Builder
		comments := rapid.IntRange(0, 4).Draw(t, "comments")
		for range comments {
			b.WriteString("# made at 12:30, with care\n")
		}
		fmt.Fprintf(&b, "time [s]%spressure [%s]%snote\n", separator, units, separator)
		step := rapid.SampledFrom([]float64{0.01, 0.1, 1, 60}).Draw(t, "step")
		n := rapid.IntRange(12, 300).Draw(t, "rows")
		for i := range n {
			fmt.Fprintf(&b, "%s%s%s%s%s\n", strings.Replace(
				strconv.FormatFloat(float64(i)*step, 'f', 2, 64), ".", point, 1,
			), separator,
				strings.Replace(strconv.FormatFloat(1+float64(i%17)/16, 'f', 4, 64), ".", point, 1), separator, "ok")
		}
		text := b.String()
		if rapid.Bool().Draw(t, "cut") {
			text = text[:len(text)-rapid.IntRange(1, 60).Draw(t, "off")]
		}
		v, err := Look([]byte(text), false)
		if err != nil {
			t.Fatal(err)
		}
		if v.Separator != separator[0] || v.Decimal != point[0] || v.FirstLine != comments+2 || v.Header != comments+1 {
			t.Fatalf("separator %q decimal %q first %d header %d", v.Separator, v.Decimal, v.FirstLine, v.Header)
		}
		if g := guesses(v); !strings.HasPrefix(g, "time[s] pressure["+units+"]") {
			t.Fatalf("guessed %q", g)
		}
		if math.Abs(v.IntervalS-step) > 1e-9 {
			t.Fatalf("interval %v, want %v", v.IntervalS, step)
		}
	})
}

// TestThinKeeps checks that Thin keeps the first, the last, the least and the greatest with its
// neighbours, and every change of the contact with 16 rows from it on.
func TestThinKeeps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 2000).Draw(t, "n")
		list := make([]Sample, n)
		edges := rapid.IntRange(0, 6).Draw(t, "edges")
		for i := range list {
			list[i] = Sample{T: float64(i), P: float64(rapid.IntRange(-50, 50).Draw(t, "p"))}
		}
		for range edges {
			for i := rapid.IntRange(0, n-1).Draw(t, "edge"); i < n; i++ {
				list[i].Contact = !list[i].Contact
			}
		}
		most := rapid.IntRange(10, 500).Draw(t, "most")
		kept, block := Thin(list, true, most, false)
		has := map[float64]bool{}
		for i, x := range kept {
			if i > 0 && !(x.T > kept[i-1].T) {
				t.Fatal("not in order")
			}
			if x != list[int(x.T)] {
				t.Fatal("changed")
			}
			has[x.T] = true
		}
		low, high := 0, 0
		changes := 0
		for i, x := range list {
			if x.P < list[low].P {
				low = i
			}
			if x.P > list[high].P {
				high = i
			}
			if i > 0 && x.Contact != list[i-1].Contact {
				changes++
				for j := i - 1; j < min(n, i+afterEdge); j++ {
					if !has[float64(j)] {
						t.Fatalf("row %d near the change at %d is lost", j, i)
					}
				}
			}
		}
		for _, i := range []int{0, n - 1, low, high} {
			if !has[float64(i)] {
				t.Fatalf("row %d is lost (block %d)", i, block)
			}
		}
		for _, i := range []int{high - 1, high + 1} {
			if i >= 0 && i < n && !has[float64(i)] && high%block != 0 && (high+1)%block != 0 {
				t.Fatalf("neighbour %d of the greatest is lost (block %d)", i, block)
			}
		}
		if len(kept) > max(most, 0)+changes*(afterEdge+1) {
			t.Fatalf("%d kept of %d, %d wanted", len(kept), n, most)
		}
	})
}

func million() []byte {
	var b []byte
	for i := range 1_000_000 {
		b = strconv.AppendFloat(b, float64(i)/100, 'f', 2, 64)
		b = append(b, ';')
		b = strconv.AppendFloat(b, 10+math.Sqrt(float64(i%1000))/1000, 'f', 5, 64)
		b = append(b, ';')
		b = strconv.AppendFloat(b, 20+float64(i%100)/100, 'f', 2, 64)
		b = append(b, '\n')
	}
	return b
}

func BenchmarkMillionRows(b *testing.B) {
	text := million()
	r := plain()
	r.Separator, r.Block, r.Temperature = ';', 600, Column{At: 3, Same: true}
	b.ReportAllocs()
	for b.Loop() {
		p := Read(text, true, &r, State{})
		if p.State.Used != 1_000_000 {
			b.Fatal(p.State.Used)
		}
	}
}
