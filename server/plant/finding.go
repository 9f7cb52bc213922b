package plant

import (
	"encoding/json"
	"strings"
)

// Finding is the part of an evaluation's result that the office reads; Raw is all of it.
type Finding struct {
	Verdict  string    `json:"verdict"`
	Reason   string    `json:"reason"`
	Complete bool      `json:"complete"`
	Readings []Reading `json:"readings"`
	Points   []Point   `json:"points"`
	Worst    struct {
		Point     json.RawMessage `json:"point"`
		Direction string          `json:"direction"`
		Fraction  *float64        `json:"fraction"`
	} `json:"worst"`
	Gauge struct {
		HeadPa       *float64  `json:"head_correction_pa"`
		HeadLowPa    *float64  `json:"head_correction_low_pa"`
		HeadHighPa   *float64  `json:"head_correction_high_pa"`
		AirDensity   *float64  `json:"air_density_kg_m3"`
		WiderPercent *float64  `json:"temperature_allowance_percent"`
		Signal       *struct { // of a transmitter whose two ends were read: errors in the unit of the output and in per cent of its span
			Zero        float64 `json:"zero"`
			ZeroPercent float64 `json:"zero_percent"`
			Span        float64 `json:"span"`
			SpanPercent float64 `json:"span_percent"`
		} `json:"signal"`
		Decision struct {
			RiskAtLimit *float64 `json:"risk_at_limit"`
		} `json:"decision"`
	} `json:"gauge"`
	Results   []Figure                                `json:"results"` // of kinds of work other than a gauge's
	DueMonths int                                     `json:"due_months"`
	Warnings  []struct{ Code, Field, Message string } `json:"warnings"`
	Calc      string                                  `json:"calc"`
	Raw       json.RawMessage                         `json:"-"`
}

// VerdictWords writes a verdict of the calculations as people read it: conditional pass for
// conditional-pass.
func VerdictWords(verdict string) string { return strings.ReplaceAll(verdict, "-", " ") }

// Figure is one result of a finding with its limits and their source.
type Figure struct {
	Name      string   `json:"name"`
	Value     *float64 `json:"value"`
	Unit      string   `json:"unit"`
	LimitLow  *float64 `json:"limit_low"`
	LimitHigh *float64 `json:"limit_high"`
	Expanded  *float64 `json:"expanded"`
	K         *float64 `json:"k"`   // nil: 2
	DOF       *float64 `json:"dof"` // effective degrees of freedom; nil if unlimited
	Verdict   string   `json:"verdict"`
	Reason    string   `json:"reason"`
	Source    string   `json:"source"`
	Condition string   `json:"condition"` // for a condition, which has no number: whether it is met
}

// Reading is one reading of a finding.
type Reading struct {
	Step          string          `json:"step"`
	Series        int             `json:"series"`
	Direction     string          `json:"direction"`
	Point         json.RawMessage `json:"point"`
	Applied       *float64        `json:"applied"`
	Indicated     *float64        `json:"indicated"`
	Error         *float64        `json:"error"`
	LimitLow      *float64        `json:"limit_low"`
	LimitHigh     *float64        `json:"limit_high"`
	ErrorPressure *float64        `json:"error_pressure"` // of a transmitter: its error converted to pressure
	Fraction      *float64        `json:"fraction"`
	Verdict       string          `json:"verdict"`
	Typed         struct {        // as typed, each with its unit, if it was converted or corrected
		Applied   string `json:"applied"`
		Indicated string `json:"indicated"`
	} `json:"typed"`
}

// Point is one test point of a finding over all its series.
type Point struct {
	Point      json.RawMessage `json:"point"`
	Applied    *float64        `json:"applied"`
	Error      *float64        `json:"error"`
	ErrorUp    *float64        `json:"error_up"`
	ErrorDown  *float64        `json:"error_down"`
	Hysteresis *float64        `json:"hysteresis"`
	Friction   *float64        `json:"friction"`
	Limit      *float64        `json:"limit"`
	U          *float64        `json:"u"`
	K          *float64        `json:"k"`
	DOF        *float64        `json:"dof"` // effective degrees of freedom; nil if unlimited
	Expanded   *float64        `json:"expanded"`
	OfReading  *float64        `json:"expanded_reading"` // of a reading in one direction, if the mean includes the other
	KReading   *float64        `json:"k_reading"`
	DOFReading *float64        `json:"dof_reading"`
	Verdict    string          `json:"verdict"`
	Typed      *float64        `json:"typed"` // the pressure at the standard before corrections
	Risk       *float64        `json:"risk"`
}
