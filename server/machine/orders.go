package machine

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

// keepReply is how long the same request gets the same reply by its Idempotency-Key.
const keepReply = 24 * time.Hour

// reply is the answer to a request with an Idempotency-Key.
type reply struct {
	Request string    `json:"request"` // digest of the body
	Status  int       `json:"status"`
	Number  string    `json:"number"` // of the order
	At      time.Time `json:"at"`
}

// errOtherSites is given where an order names instruments of sites that the token is not given.
var errOtherSites = errors.New("the order asks for work at other sites, too, which this token is not given")

// ofToken counts the instruments of an order that a token is given.
func (a *API) ofToken(c *call, w *office.WorkOrder) (n int, err error) {
	if len(c.token.Sites) == 0 {
		return len(w.Instruments), nil
	}
	for _, id := range w.Instruments {
		s, err := a.Office.Record(id)
		if err != nil {
			return 0, err
		}
		if c.token.Sees(&s) {
			n++
		}
	}
	return n, nil
}

// orderOf gives an order with its work, of a token with sites the work there.
func (a *API) orderOf(c *call, w *office.WorkOrder) (Order, error) {
	out := Order{
		Number: w.Number, Text: w.Text, Wanted: w.Wanted, Priority: w.Priority, From: w.From,
		Taken: w.Taken, Withdrawn: w.Withdrawn, Done: true, Work: []OrderWork{},
	}
	work, err := a.Office.Work(w)
	if err != nil {
		return out, err
	}
	for _, x := range work {
		if len(c.token.Sites) > 0 {
			s, err := a.Office.Record(x.Instrument)
			if err != nil {
				return out, err
			}
			if !c.token.Sees(&s) {
				continue
			}
		}
		one := OrderWork{Instrument: x.Instrument, Tag: x.Tag, State: x.State, Visits: []OrderVisit{}}
		for _, v := range x.Visits {
			done := OrderVisit{
				ID: v.ID, Started: v.Started, Status: string(v.Status), AsFound: v.AsFound, AsLeft: v.AsLeft,
				Certificates: []Certificate{},
			}
			for i := range v.Certificates {
				done.Certificates = append(done.Certificates, paperOf(v.ID, &v.Certificates[i]))
			}
			one.Visits = append(one.Visits, done)
		}
		out.Done = out.Done && x.State == "approved"
		out.Work = append(out.Work, one)
	}
	return out, nil
}

func (a *API) orders(c *call) error {
	after, n, err := c.piece()
	if err != nil {
		return err
	}
	out := OrderPage{Items: []Order{}}
	for looked := 0; ; {
		list, err := a.Office.Orders(after, n+1)
		if err != nil {
			return err
		}
		for i := range list {
			if len(out.Items) == n || looked == mostLooked {
				out.Next = cursorOf(after)
				return c.give(out)
			}
			looked, after = looked+1, list[i].Number
			if seen, err := a.ofToken(c, &list[i]); err != nil {
				return err
			} else if seen == 0 {
				continue
			}
			one, err := a.orderOf(c, &list[i])
			if err != nil {
				return err
			}
			out.Items = append(out.Items, one)
		}
		if len(list) <= n {
			return c.give(out)
		}
	}
}

// number reads the number of an order from the address.
func (c *call) number() (string, error) {
	text, err := url.PathUnescape(c.Param("number"))
	if err != nil {
		return "", document.Refuse(document.CodeSyntax, "number", "is not written as an address has it")
	}
	return text, nil
}

func (a *API) order(c *call) error {
	number, err := c.number()
	if err != nil {
		return err
	}
	w, err := a.Office.Order(number)
	if err != nil {
		return err
	}
	if seen, err := a.ofToken(c, &w); err != nil {
		return err
	} else if seen == 0 {
		return notHere(number)
	}
	out, err := a.orderOf(c, &w)
	if err != nil {
		return err
	}
	return c.give(out)
}

func notHere(number string) error { return fmt.Errorf("the order %q %w", number, plant.ErrNotFound) }

// mayAlter says whether a token may change or take back an order: all of it is at its sites. One that
// is wholly elsewhere is not there.
//
// Refuses: plant.ErrNotFound, errOtherSites.
func (a *API) mayAlter(c *call, number string) error {
	w, err := a.Office.Order(number)
	if err != nil {
		return err
	}
	seen, err := a.ofToken(c, &w)
	switch {
	case err != nil:
		return err
	case seen == 0:
		return notHere(number)
	case seen < len(w.Instruments):
		return errOtherSites
	}
	return nil
}

func (a *API) createOrder(c *call) error {
	var in OrderIn
	if err := c.read(&in); err != nil {
		return err
	}
	return a.take(c, &in, false)
}

func (a *API) putOrder(c *call) error {
	var in OrderIn
	if err := c.read(&in); err != nil {
		return err
	}
	number, err := c.number()
	if err != nil {
		return err
	}
	if in.Number != "" && in.Number != number {
		return document.Refuse(document.CodeConflict, "number", "is another one than that of the address")
	}
	in.Number = number
	return a.take(c, &in, true)
}

// take stores an order and answers with it.
func (a *API) take(c *call, in *OrderIn, replace bool) error {
	key, digest, before, err := a.earlier(c, in, replace)
	if err != nil {
		return err
	}
	if before != nil {
		return a.tell(c, before.Number, before.Status)
	}
	ids, err := a.Office.Tagged(in.Tags, c.token.Sites)
	if err != nil {
		return err
	}
	if len(c.token.Sites) > 0 {
		_, err := a.Office.Order(strings.TrimSpace(in.Number))
		known := err == nil
		if err = a.mayAlter(c, strings.TrimSpace(in.Number)); known && errors.Is(err, plant.ErrNotFound) {
			return fmt.Errorf("%w: %s", office.ErrOrderDiffers, in.Number)
		}
		if known && err != nil {
			return err
		}
	}
	w := office.WorkOrder{
		Number: in.Number, Text: in.Text, Wanted: in.Wanted, Priority: in.Priority, Instruments: ids,
		From: c.token.Name,
	}
	status := http.StatusOK
	out, _, err := a.Office.TakeOrder(
		c.Request().Context(), w, replace, func(w office.WorkOrder, fresh bool) ([]store.Step, error) {
			kind := "order_changed"
			if fresh {
				status, kind = http.StatusCreated, "order_taken"
			}
			steps := []store.Step{c.noting(kind, w.Number)}
			if key == "" {
				return steps, nil
			}
			old, err := a.forgotten()
			if err != nil {
				return nil, err
			}
			b, err := json.Marshal(reply{digest, status, w.Number, a.Now().UTC()})
			return append(append(steps, old...), a.again.Putting(key, b)), err
		},
	)
	if err != nil {
		return err
	}
	return a.tell(c, out.Number, status)
}

// noting returns the step that notes what a machine did.
func (c *call) noting(kind, detail string) store.Step {
	return store.Noting(store.Event{Kind: kind, About: c.token.Name, Address: c.RealIP(), Detail: detail})
}

// forgotten returns the steps that remove expired replies, once an hour. The writer must be held
// while it runs.
func (a *API) forgotten() (steps []store.Step, err error) {
	if a.Now().Sub(a.tidied) < time.Hour {
		return nil, nil
	}
	err = a.again.Each(func(k string, v []byte) error {
		var r reply
		if json.Unmarshal(v, &r) != nil || a.Now().Sub(r.At) > keepReply {
			steps = append(steps, a.again.Deleting(k))
		}
		return nil
	})
	a.tidied = a.Now()
	return steps, err
}

// earlier finds the reply that the same request got before by its Idempotency-Key.
//
// Gives:   the key under which a reply is stored, "" if none was sent; the digest of the request.
// Refuses: errKey if the key came with another request.
func (a *API) earlier(c *call, in *OrderIn, replace bool) (key, digest string, r *reply, err error) {
	said := c.Request().Header.Get("Idempotency-Key")
	if c.Request().Header["Idempotency-Key"] == nil {
		return "", "", nil, nil
	}
	if said == "" || len(said) > 200 {
		return "", "", nil, errKeyBad
	}
	body, err := json.Marshal(map[string]any{"order": in, "replace": replace})
	if err != nil {
		return "", "", nil, err
	}
	hash := func(b []byte) string { sum := sha256.Sum256(b); return hex.EncodeToString(sum[:]) }
	key, digest = c.token.ID+" "+hash([]byte(said)), hash(body)
	b, err := a.again.Get(key)
	if err != nil || b == nil {
		return key, digest, nil, err
	}
	if err := json.Unmarshal(b, &r); err != nil {
		return "", "", nil, err
	}
	switch {
	case a.Now().Sub(r.At) > keepReply:
		return key, digest, nil, nil
	case r.Request != digest:
		return "", "", nil, errKey
	}
	return key, digest, r, nil
}

// tell answers with an order.
func (a *API) tell(c *call, number string, status int) error {
	w, err := a.Office.Order(number)
	if err != nil {
		return err
	}
	out, err := a.orderOf(c, &w)
	if err != nil {
		return err
	}
	c.Response().Header().Set(echo.HeaderLocation, "/api/v1/orders/"+url.PathEscape(number))
	return c.JSON(status, out)
}

func (a *API) withdrawOrder(c *call) error {
	number, err := c.number()
	if err != nil {
		return err
	}
	if err := a.mayAlter(c, number); err != nil {
		return err
	}
	if err := a.Office.WithdrawOrder(
		c.Request().Context(), number, c.noting("order_withdrawn", number),
	); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}
