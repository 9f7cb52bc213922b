package mail

import (
	"cmp"
	"encoding/json"
	"fmt"
	netmail "net/mail"
	"slices"
	"strings"

	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/sync/store"
)

// Languages are the languages of messages.
var Languages = []string{"en", "de"}

// Person is what a person wants mail about.
type Person struct {
	ID       string `json:"id"`
	Address  string `json:"address"` // "" for nothing
	Language string `json:"language"`
	Daily    bool   `json:"daily"`   // a digest each day
	AtOnce   bool   `json:"at_once"` // a failed safety function, when it is signed
}

const longestAddress = 254 // RFC 5321, 4.5.3.1.3, without the angle brackets

// Set stores what a person wants mail about.
//
// Refuses: a Fault that names the field.
func (m *Mail) Set(p Person, with store.Step) error {
	p.Address = strings.TrimSpace(p.Address)
	if p.Address != "" {
		a, err := netmail.ParseAddress(p.Address)
		if err != nil || a.Address != p.Address || len(p.Address) > longestAddress {
			return document.Refuse(document.CodeRange, "address", "is not an address such as name@plant.example")
		}
	}
	if p.Language = cmp.Or(p.Language, "en"); !slices.Contains(Languages, p.Language) {
		return document.Refuse(document.CodeRange, "language", "is en or de")
	}
	users, err := m.keeper.Users()
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(users, func(u auth.User) bool { return u.ID == p.ID && works(&u) }) {
		return document.Refuse(document.CodeRange, "id", "nobody here has this id")
	}
	b, err := json.Marshal(p)
	if err != nil {
		return err
	}
	return m.people.Put(p.ID, b, with)
}

func works(u *auth.User) bool { return !u.Revoked && u.Role != auth.Hub }

// People lists everybody with access, and what they want mail about.
func (m *Mail) People() (list []Person, err error) {
	users, err := m.keeper.Users()
	if err != nil {
		return nil, err
	}
	for i := range users {
		if !works(&users[i]) {
			continue
		}
		p, err := m.person(users[i].ID)
		if err != nil {
			return nil, err
		}
		list = append(list, p)
	}
	return list, nil
}

func (m *Mail) person(id string) (p Person, err error) {
	b, err := m.people.Get(id)
	if err == nil && b != nil {
		err = json.Unmarshal(b, &p)
	}
	if err != nil {
		return p, fmt.Errorf("what %s wants to be told is damaged: %w", id, err)
	}
	p.ID, p.Language = id, cmp.Or(p.Language, "en")
	return p, nil
}
