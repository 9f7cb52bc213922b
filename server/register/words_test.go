package register

import (
	"errors"
	"testing"
)

func TestDates(t *testing.T) {
	for text, want := range map[string]string{
		"2027-03-01": "2027-03-01", "31.12.26": "2026-12-31", "31.12.2026": "2026-12-31", "1.2.2027": "2027-02-01",
		"Q3 2027": "2027-09-30", "3. Quartal 2027": "2027-09-30", "T2 2027": "2027-06-30", "q1/27": "2027-03-31",
		"KW 12/2027": "2027-03-28", "CW 1 2027": "2027-01-10", "KW 53/2026": "2027-01-03", "2027-W20": "2027-05-23",
		"07/2027": "2027-07-31", "2027-02": "2027-02-28", "02/2028": "2028-02-29", "2027": "2027-12-31",
		"März 2027": "2027-03-31", "juin 2027": "2027-06-30", "juil. 2027": "2027-07-31", "dic 2027": "2027-12-31",
		"Sep 27": "2027-09-30", "15 Mar 2027": "2027-03-15", "15-Mar-2027": "2027-03-15", "5. Mai 2027": "2027-05-05",
		"15/03/2027": "2027-03-15", "12/31/2026": "2026-12-31", "5/5/2027": "2027-05-05",
		"31.02.27": "", "KW 53/2027": "", "13/2027": "", "soon": "", "Q5 2027": "", "1850": "", "31.04.2027": "",
	} {
		got, err := date(text, "")
		if got != want || (err == nil) != (want != "") {
			t.Errorf("%q is %q, %v; want %q", text, got, err, want)
		}
	}
	for _, text := range []string{"2/3/2027", "02/03/27"} {
		if _, err := date(text, ""); !errors.Is(err, errOrder) {
			t.Errorf("%q: %v", text, err)
		}
	}
	if got, _ := date("2/3/27", "mdy"); got != "2027-02-03" {
		t.Error(got)
	}
}

func TestIntervals(t *testing.T) {
	for text, want := range map[string]int{
		"12": 12, "12 Monate": 12, "24 mois": 24, "6 months": 6, "2 years": 24, "2 Jahre": 24, "3a": 36, "1 an": 12,
		"jährlich": 12, "Annual": 12, "annuelle": 12, "anual": 12, "halbjährlich": 6, "quarterly": 3, "monatlich": 1,
		"0": 0, "now and then": 0, "12.5": 0, "300": 0, "-12": 0, "30 Jahre": 0,
	} {
		if got, err := months(text); got != want || (err == nil) != (want > 0) {
			t.Errorf("%q is %d, %v; want %d", text, got, err, want)
		}
	}
}

func TestRanges(t *testing.T) {
	for text, want := range map[string][3]string{
		"0...16 bar": {"0", "16", "bar"}, "-1/+3 bar": {"-1", "+3", "bar"}, "0-100 psig": {"0", "100", "psig"},
		"0 bis 400 mbar": {"0", "400", "mbar"}, "0 à 10 bar": {"0", "10", "bar"}, "−1 … 5 bar": {"-1", "5", "bar"},
		"0 bar - 10 bar": {"0", "10", "bar"}, "16 bar": {"0", "16", "bar"}, "-1 bar": {"-1", "0", "bar"},
		"0-25": {"0", "25", ""}, "-30/0 inHg": {"-30", "0", "inHg"}, "0-4 kg/cm²": {"0", "4", "kg/cm²"},
		"16": {}, "bar": {}, "ten bar": {}, "0 bar - 10 psi": {},
	} {
		low, high, unit, err := cutRange(text)
		if [3]string{low, high, unit} != want || (err == nil) != (want[1] != "") {
			t.Errorf("%q is %q %q %q, %v; want %q", text, low, high, unit, err, want)
		}
	}
}

func TestNumbersOfAFileWithBothMarks(t *testing.T) {
	for text, want := range map[string]string{
		"1,6": "1.6", "1.6": "1.6", "1.234,5": "1234.5", "1,234.5": "1234.5", "1,234,567": "1234567", "0,125": "0.125",
		"12": "12", "-0.05": "-0.05", "1'000.5": "1000.5",
	} {
		if got, err := number(text, 0); got != want || err != nil {
			t.Errorf("%q is %q, %v; want %q", text, got, err, want)
		}
	}
	for _, text := range []string{"1,000", "25.000"} {
		if _, err := number(text, 0); !errors.Is(err, errDecimal) {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func TestSame(t *testing.T) {
	for _, list := range [][]string{{"PI-20104", "pi 20104", "PI20104", "Pi_20104"}, {"N° 44-11", "n44.11"}} {
		for _, text := range list {
			if Same(text) != Same(list[0]) {
				t.Errorf("%q is %q, %q is %q", text, Same(text), list[0], Same(list[0]))
			}
		}
	}
	for a, b := range map[string]string{"PI-1-10": "PI-11-0", "PI-1.0": "PI-10", "PI-1A": "PI-1B", "01": "1"} {
		if Same(a) == Same(b) {
			t.Errorf("%q and %q are taken for one", a, b)
		}
	}
}
