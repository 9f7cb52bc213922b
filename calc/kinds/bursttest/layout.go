package bursttest

import (
	"strconv"

	"gaugewright/calc/burst"
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/work"
)

// burstWork is the layout of a test of rupture discs.
type burstWork struct {
	*work.Layout
	marked, tolerance float64
	ownTolerance      bool
	requested         float64
	rangeLow, rangeHi float64
	hasRange          bool
	lot               string
	lotSize           int
	fullScale         float64
	discs             int
	start, endLimit   string
	end               float64
	rate              float64
	rateText          string
	lag, interval     float64
	hasInterval       bool
	detector          burst.Detector
	spikeStated       bool
	asksT             bool
	coincident        float64
	hasCoincident     bool
}

func expand(in *document.Reader, p *work.Plan) error {
	_, err := layBurst(in, p)
	return err
}

// endShare is how far above the marked pressure a ramp may go before it is given up. Common
// practice, no source: 1.2 bar for a disc near 1 bar.
const endShare = 1.2

// layBurst reads a burst test's method and lot, and writes the plan.
func layBurst(in *document.Reader, p *work.Plan) (*burstWork, error) {
	b := &burstWork{Layout: work.NewLayout(in, p)}
	r, m := b.Parts, b.Method
	if in.Err() == nil && !r.Has("marked") {
		return nil, document.Refuse(
			document.CodeMissing, "instrument.particulars.marked",
			"the marked or expected burst pressure is missing",
		)
	}
	b.marked = r.Positive("marked")
	b.fullScale = r.NumberOr("full_scale", b.High)
	b.lot = r.TextOr("lot", "")
	b.lotSize = r.WholeOr("lot_size", 1, 1000000, 0)
	r.TextOr("material", "")
	b.coincident, b.hasCoincident = r.Optional("coincident_temperature_c")
	b.requested = r.NumberOr("requested", 0)
	if rp, ok := r.OptionalObject("range_percent"); ok {
		b.hasRange, b.rangeLow, b.rangeHi = true, rp.Number("low"), rp.Number("high")
		switch {
		case r.Err() != nil:
		case b.rangeLow > b.rangeHi:
			rp.Fail(document.CodeRange, "low", "must not lie above high")
		case b.requested <= 0:
			r.Fail(
				document.CodeMissing, "requested",
				"a manufacturing range lies about the requested pressure, which is missing",
			)
		}
	}
	volume, bulk, heats := r.NumberOr("volume_m3", 0), r.NumberOr("bulk_modulus_pa", 0), r.NumberOr("ratio_of_heats", 1.4)
	b.tolerances(m)
	b.discs = m.WholeOr("discs", 1, 100, 1)
	rate := m.Decimal("rate")
	b.rate, b.rateText = rate.Value, rate.Text
	b.asksT = m.ChoiceOr("temperature", "asked", "none") == "asked"
	b.lag = b.Seconds(m, "sensor_lag_s", 0)
	b.interval, b.hasInterval = m.Optional("interval_s")
	b.detector = burst.Detector{
		Drop: m.NumberOr("drop_fraction", 0.2), Window: m.NumberOr("window_s", 0.5),
		Hold: m.WholeOr("hold_samples", 1, 1000, 3), Arm: m.NumberOr("arm", float64(0.3*b.marked)),
	}
	b.detector.Spike, b.spikeStated = m.Optional("spike_threshold")
	if d, ok := m.OptionalDecimal("start"); ok {
		b.start = d.Text
		if in.Err() == nil && d.Value >= b.marked {
			m.Fail(document.CodeRange, "start", "must lie below the marked pressure")
		}
	}
	if d, ok := m.OptionalDecimal("end_limit"); ok {
		b.end, b.endLimit = d.Value, d.Text
	} else {
		b.end = float64(endShare * b.marked)
		b.endLimit = work.PressureText(b.end)
	}
	switch {
	case in.Err() != nil:
	case b.rate <= 0:
		m.Fail(document.CodeRange, "rate", "must be above zero")
	case b.detector.Drop <= 0 || b.detector.Drop >= 1:
		m.Fail(document.CodeRange, "drop_fraction", "must be between 0 and 1")
	case b.detector.Window <= 0 || b.spikeStated && b.detector.Spike <= 0 || b.hasInterval && b.interval <= 0:
		m.Fail(document.CodeRange, "window_s", "window, spike threshold and interval must be above zero")
	case !b.Gauge && b.Unit.ToSI(b.marked) <= b.Ambient:
		r.Fail(document.CodeRange, "marked", "lies below the pressure of the room")
	case b.end <= b.marked+b.tolerance:
		m.Fail(
			document.CodeRange, "end_limit",
			"must lie above the highest burst that is in tolerance, "+work.Figure(b.marked+b.tolerance)+" "+b.Spelling,
		)
	case b.marked > b.High:
		r.Fail(document.CodeRange, "marked", "lies above the range of the instrument")
	case heats <= 1 || heats >= 2:
		r.Fail(document.CodeRange, "ratio_of_heats", "must be above 1 and below 2")
	case volume < 0 || bulk < 0:
		r.Fail(document.CodeRange, "volume_m3", "volume and bulk modulus must not be below zero")
	}
	if err := in.Err(); err != nil {
		return nil, err
	}
	b.Store("at the marked pressure", volume, b.Absolute(b.marked), heats, bulk)
	b.Store("at the end limit", volume, b.Absolute(b.end), heats, bulk)
	b.steps()
	return b, in.Err()
}

func (b *burstWork) tolerances(m *document.Reader) {
	percent, hasPercent := m.Optional("tolerance_percent")
	absolute, hasAbsolute := m.Optional("tolerance")
	b.ownTolerance = hasPercent || hasAbsolute
	switch {
	case m.Err() != nil:
	case hasPercent && hasAbsolute:
		m.Fail(document.CodeConflict, "tolerance", "give the tolerance in the unit or in per cent, not both")
	case hasPercent && percent > 0:
		b.tolerance = b.marked * percent / 100
	case hasAbsolute && absolute > 0:
		b.tolerance = absolute
	case b.ownTolerance:
		m.Fail(document.CodeRange, "tolerance", "must be above zero")
	default:
		b.tolerance = burst.Tolerance(b.marked, b.Unit.Factor)
		b.LimitSource = "ASME UG-127(a)(1), now in Section XIII: 2 psi up to 40 psi, 5 % above"
	}
}

const burstCautions = "A disc lets go at once and throws what is behind it: closed shield, eyes and ears protected, nobody in line with the outlet, the outlet led away. Raise the pressure at an even rate from behind the shield. " +
	"At the end limit stop, vent and do not try again. A disc that was near its burst is not used."

func (b *burstWork) steps() {
	b.Begin("The test volume is not known, so the stored energy cannot be told: treat it as dangerous.", burstCautions,
		"Is the holder rated for "+b.endLimit+" "+b.Spelling+", the shield closed and the outlet led away?",
		"Do not raise the pressure. Shut off the source, vent, and see zero before the shield is opened. Then change the holder, close the shield, or lead the outlet away.")
	e, _ := numeric.ExactOf(b.marked)
	marked, _ := e.Text(9)
	for k := 1; k <= b.discs; k++ {
		id := "d" + strconv.Itoa(k)
		disc := "Disc " + strconv.Itoa(k)
		nth := work.Figures{Cycle: k, Cycles: b.discs, CycleOf: "disc", Most: b.endLimit}
		within := nth
		within.About, within.Off = b.marked, b.tolerance
		within.Low, within.High = work.SpanOf(b.marked, b.tolerance)
		ramp := within
		ramp.From = b.start
		b.Screen()
		b.Step(
			work.Step{
				ID: id + ".disc", Do: "ask", As: "text", Name: "disc",
				Text: disc + ": its identity and lot as marked on it",
			},
			work.SecondsToRemount,
		)
		b.Step(work.Step{ID: id + ".shield", Do: "ask", As: "yes", Name: "shield", Text: disc + ": is it clamped as its maker says, the shield closed, and everyone clear?",
			MakeSafe: "Do not raise the pressure. Shut off the source, vent, and see zero before anybody goes near. Then clamp the disc as its maker says, close the shield, and clear the area."}, work.SecondsToRead)
		if b.asksT {
			b.Step(
				work.Step{
					ID: id + ".temp", Do: "ask", As: "number", Unit: "°C", Name: "temperature",
					Text: "Temperature at the disc, in °C",
				},
				work.SecondsToRead,
			)
		}
		b.Screen()
		if b.start != "" {
			b.Step(
				work.Step{
					ID: id + ".start", Do: "set", Way: "up", Target: b.start, Unit: b.Spelling,
					Text: "The even rise begins here.", Figures: &nth,
				},
				work.SecondsToSet,
			)
		}
		b.Step(work.Step{ID: id + ".ramp", Do: "ramp", Way: "up", Target: b.endLimit, Unit: b.Spelling, Rate: b.rateText, Until: "drop", Figures: &ramp,
			Text: disc + ": evenly, until it bursts. At the end limit, " + b.endLimit + " " + b.Spelling + ", stop and vent."}, b.end/b.rate)
		b.Step(
			work.Step{
				ID: id, Do: "read", Of: "applied", Target: marked, Unit: b.Spelling, Trace: true,
				Name: "burst", Text: disc + ": the largest pressure that was seen", Figures: &within,
			},
			work.SecondsToRead,
		)
		b.StepBy(
			work.Step{ID: id + ".burst", Do: "ask", As: "yes", Name: "burst", Text: disc + ": did it burst?"},
			work.SecondsToRead, id, 'p',
		)
		b.Screen()
		b.Step(
			work.Step{ID: id + ".vent", Do: "vent", Text: "Vent, see zero, and only then open the shield."},
			work.SecondsToVent,
		)
	}
}
