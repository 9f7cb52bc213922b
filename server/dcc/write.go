package dcc

import (
	"bytes"
	"encoding/base64"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// ErrIncomplete is wrapped if a certificate lacks what the schema requires.
var ErrIncomplete = errors.New("a digital calibration certificate has to state this")

const (
	schema  = "3.3.0"
	root    = "dcc:digitalCalibrationCertificate"
	refs    = "https://ptb.de/dcc https://ptb.de/dcc/v" + schema + "/dcc.xsd"
	program = "gaugewright, calculations"
)

// writer writes one certificate.
type writer struct {
	c        *Certificate
	declared []string // units that D-SI does not know, in order of first use
}

// XML writes the certificate. It refuses, with ErrIncomplete, one that lacks a required statement.
func XML(c *Certificate) ([]byte, error) {
	if err := c.complete(); err != nil {
		return nil, err
	}
	w := &writer{c: c}
	results := w.results() // finds the units before they are declared
	top := el(root, w.administrative(), results)
	top.with("xmlns:dcc", "https://ptb.de/dcc").with("xmlns:si", "https://ptb.de/si").with(
		"xmlns:xsi", "http://www.w3.org/2001/XMLSchema-instance",
	).
		with("xsi:schemaLocation", refs).with("schemaVersion", schema)
	var b bytes.Buffer
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?>` + "\n")
	top.write(&b, "")
	return b.Bytes(), nil
}

// Enclose puts the PDF into a certificate that XML wrote.
func Enclose(certificate []byte, name string, pdf []byte) ([]byte, error) {
	end := []byte("</" + root + ">\n")
	body, ok := bytes.CutSuffix(certificate, end)
	if !ok {
		return nil, fmt.Errorf("%w: its end", ErrIncomplete)
	}
	b := bytes.NewBuffer(bytes.Clone(body))
	el("dcc:document", leaf("dcc:fileName", name), leaf("dcc:mimeType", "application/pdf"),
		leaf("dcc:dataBase64", base64.StdEncoding.EncodeToString(pdf))).write(b, "  ")
	b.Write(end)
	return b.Bytes(), nil
}

func (c *Certificate) complete() error {
	for _, x := range []struct{ is, what string }{
		{c.Number, "its number"}, {c.ID, "its identifier"}, {c.Language, "its language"}, {
			c.Country, "the country of the laboratory",
		}, {c.Release, "the program's release"},
		{c.Begin, "when the work began"}, {c.End, "when the work ended"}, {c.Issued, "when it was issued"}, {c.Laboratory.Name, "the laboratory"},
		{c.Customer.Name, "the customer"}, {c.Item.Name, "the item"}, {
			c.Item.Serial + c.Item.Tag, "the item's serial number or tag",
		},
	} {
		if strings.TrimSpace(x.is) == "" {
			return fmt.Errorf("%w: %s", ErrIncomplete, x.what)
		}
	}
	switch {
	case len(c.People) == 0:
		return fmt.Errorf("%w: who answers for it", ErrIncomplete)
	case len(c.Work) == 0:
		return fmt.Errorf("%w: its results", ErrIncomplete)
	}
	for i := range c.Work {
		if len(c.Work[i].Tables)+len(c.Work[i].Figures) == 0 {
			return fmt.Errorf("%w: the results of %q", ErrIncomplete, c.Work[i].Name)
		}
	}
	return nil
}

func (w *writer) software(name string) *node {
	return el(
		name,
		el(
			"dcc:software", w.content("dcc:name", w.say(program)), leaf("dcc:release", "v"+w.c.Release),
			leaf("dcc:type", "application"),
		),
	)
}

func (w *writer) administrative() *node {
	c := w.c
	core := el("dcc:coreData", leaf("dcc:countryCodeISO3166_1", c.Country), leaf("dcc:usedLangCodeISO639_1", c.Language), leaf(
		"dcc:mandatoryLangCodeISO639_1", c.Language,
	),
		leaf("dcc:uniqueIdentifier", c.ID),
		el(
			"dcc:identifications",
			w.identification("calibrationLaboratory", c.Number, w.say("Number of the certificate")),
			w.identification("other", c.Record, w.say("SHA-256 of the record")),
			w.identification("customer", c.Order, w.say("Number of the order")),
		),
		leaf("dcc:receiptDate", c.Received),
		leaf("dcc:beginPerformanceDate", c.Begin), leaf("dcc:endPerformanceDate", c.End), leaf("dcc:performanceLocation", "other"), leaf("dcc:issueDate", c.Issued))
	if c.Replaces != "" {
		core.add(
			el(
				"dcc:reportAmendedSubstituted", leaf("dcc:typeOfChange", "substituted"),
				leaf("dcc:replacedUniqueIdentifier", c.Replaces),
			),
		)
	}
	people := el("dcc:respPersons")
	for _, p := range c.People {
		one := el(
			"dcc:respPerson", el("dcc:person", el("dcc:name", leaf("dcc:content", p.Name))), leaf("dcc:role", p.Role),
		)
		if p.Signer {
			one.add(leaf("dcc:mainSigner", "true"))
		}
		people.add(one)
	}
	return el("dcc:administrativeData", w.software("dcc:dccSoftware"), core, el("dcc:items", w.item()), el(
		"dcc:calibrationLaboratory", w.party("dcc:contact", c.Laboratory),
	),
		people, w.party("dcc:customer", c.Customer), w.statements())
}

func (w *writer) identification(issuer, value, name string) *node {
	if value == "" {
		return nil
	}
	return el("dcc:identification", leaf("dcc:issuer", issuer), leaf("dcc:value", value), w.content("dcc:name", name))
}

func (w *writer) party(element string, p Party) *node {
	place := el("dcc:location")
	for _, line := range p.Lines {
		place.add(w.content("dcc:further", line))
	}
	if len(p.Lines) == 0 {
		place.add(w.content("dcc:further", w.say("The address is not recorded.")))
	}
	return el(element, w.content("dcc:name", p.Name), place)
}

func (w *writer) item() *node {
	i := &w.c.Item
	n := el("dcc:item", w.content("dcc:name", i.Name)).with("id", "item")
	if i.Maker != "" {
		n.add(el("dcc:manufacturer", w.content("dcc:name", i.Maker)))
	}
	n.add(
		leaf("dcc:model", i.Model),
		el(
			"dcc:identifications", w.identification("manufacturer", i.Serial, w.say("Serial number")),
			w.identification("customer", i.Tag, w.say("Tag")),
		),
	)
	facts := el("dcc:itemQuantities")
	for _, q := range []struct {
		refType, name string
		is            Number
	}{{"basic_measurementRangeMin", w.say("Lower end of the range"), i.Low}, {
		"basic_measurementRangeMax", w.say("Upper end of the range"), i.High,
	},
		{"basic_measurementRangeScaleInterval", w.say("Read to"), i.Resolution}} {
		if q.is.Value != "" {
			if number := w.number(q.is); number != nil {
				facts.add(el("dcc:itemQuantity", w.content("dcc:name", q.name), number).with("refType", q.refType))
			}
		}
	}
	return n.add(facts.orNil())
}

func (w *writer) statements() *node {
	n := el("dcc:statements")
	if w.c.WhyInstead != "" {
		n.add(el("dcc:statement", w.content("dcc:declaration", w.c.WhyInstead)))
	}
	for _, s := range w.c.Statements {
		n.add(
			el(
				"dcc:statement", w.content("dcc:declaration", s.Text), leaf("dcc:date", s.Date),
				leaf("dcc:conformity", s.Conformity),
			).with("refType", s.RefType),
		)
	}
	for _, unit := range w.declared {
		n.add(el("dcc:statement", w.content(
			"dcc:declaration", w.say("The unit {} is not of the SI; the value in the SI stands beside it.", unit),
		),
			leaf("dcc:nonSIDefinition", unit), leaf("dcc:nonSIUnit", unit)))
	}
	return n.orNil()
}

// declare notes a unit that D-SI does not know.
func (w *writer) declare(n *notation) {
	if n.declared != "" && !slices.Contains(w.declared, n.declared) {
		w.declared = append(w.declared, n.declared)
	}
}

func (w *writer) results() *node {
	all := el("dcc:measurementResults")
	for i := range w.c.Work {
		all.add(w.work(&w.c.Work[i]))
	}
	return all
}

func (w *writer) work(one *Work) *node {
	methods := el("dcc:usedMethods")
	for _, m := range one.Methods {
		n := el(
			"dcc:usedMethod", w.content("dcc:name", m.Name), w.content("dcc:description", m.Text),
		).with("refType", m.RefType)
		for _, norm := range m.Norms {
			n.add(leaf("dcc:norm", norm))
		}
		methods.add(n)
	}
	gear := el("dcc:measuringEquipments")
	for _, s := range one.Standards {
		n := el("dcc:measuringEquipment", w.content("dcc:name", s.Name)).with("refType", "basic_standardUsed")
		if s.Certificate != "" {
			procedure, value := "analogue", "none" // a paper certificate
			if s.Hash != "" {
				procedure, value = "SHA-256", s.Hash
			}
			n.add(el("dcc:certificate", w.content(
				"dcc:referral", joined(w.say("Calibration certificate of the standard"), s.By),
			), leaf("dcc:referralID", s.Certificate),
				leaf("dcc:procedure", procedure), leaf("dcc:value", value)))
		}
		if s.Maker != "" {
			n.add(el("dcc:manufacturer", w.content("dcc:name", s.Maker)))
		}
		n.add(leaf("dcc:model", s.Model))
		if s.Serial != "" {
			n.add(el("dcc:identifications", w.identification("manufacturer", s.Serial, w.say("Serial number"))))
		}
		gear.add(n)
	}
	around := el("dcc:influenceConditions")
	for _, c := range one.Conditions {
		if number := w.number(c.Value); number != nil {
			around.add(el("dcc:influenceCondition", w.content("dcc:name", c.Name), leaf("dcc:status", one.Status),
				el("dcc:data", el("dcc:quantity", number))).with("refType", c.RefType))
		}
	}
	if len(around.kids) == 0 { // the rules require one above every quantity
		around.add(
			el(
				"dcc:influenceCondition", w.content("dcc:name", w.say("Surroundings")),
				leaf("dcc:status", one.Status), el("dcc:data", w.content("dcc:text", w.say("Not recorded."))),
			),
		)
	}
	data := el("dcc:data")
	for i := range one.Tables {
		data.add(w.table(&one.Tables[i], i+1))
	}
	for i := range one.Figures {
		data.add(w.figure(&one.Figures[i]))
	}
	return el("dcc:measurementResult", w.content("dcc:name", one.Name), methods.orNil(), w.software("dcc:usedSoftware"), gear.orNil(), around,
		el("dcc:results", el("dcc:result", w.content("dcc:name", one.Name), data))).with("refId", "item")
}

func joined(a, b string) string {
	if b == "" {
		return a
	}
	return a + ", " + b
}
