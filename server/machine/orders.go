package machine

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"net/http"
	"net/url"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/office"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

// keepReply is how long a reply is given again to the same request by its Idempotency-Key.
const keepReply = 24 * time.Hour

// reply is what a request with an Idempotency-Key was answered.
type reply struct {
	Request string    `json:"request"` // digest of the body
	Status  int       `json:"status"`
	Number  string    `json:"number"` // of the order
	At      time.Time `json:"at"`
}

func (a *API) orderOf(w *office.WorkOrder) (Order, error) {
	out := Order{
		Number: w.Number, Text: w.Text, Wanted: w.Wanted, Priority: w.Priority, From: w.From,
		Taken: w.Taken, Withdrawn: w.Withdrawn, Done: true, Work: []OrderWork{},
	}
	work, err := a.Office.Work(w)
	if err != nil {
		return out, err
	}
	for _, x := range work {
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
	list, err := a.Office.Orders(after, n+1)
	if err != nil {
		return err
	}
	out := OrderPage{Items: []Order{}}
	for i := range list {
		if i == n {
			out.Next = cursorOf(list[n-1].Number)
			break
		}
		one, err := a.orderOf(&list[i])
		if err != nil {
			return err
		}
		out.Items = append(out.Items, one)
	}
	return c.give(out)
}

// number reads the number of an order out of the address.
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
	out, err := a.orderOf(&w)
	if err != nil {
		return err
	}
	return c.give(out)
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

// take takes an order in and answers with it.
func (a *API) take(c *call, in *OrderIn, replace bool) error {
	key, digest, before, err := a.earlier(c, in, replace)
	if err != nil {
		return err
	}
	if before != nil {
		return a.tell(c, before.Number, before.Status)
	}
	ids, err := a.Office.Tagged(in.Tags)
	if err != nil {
		return err
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

// noting is the step that notes what a machine did.
func (c *call) noting(kind, detail string) store.Step {
	return store.Noting(store.Event{Kind: kind, About: c.token.Name, Address: c.RealIP(), Detail: detail})
}

// forgotten are the steps that forget replies which are kept no longer, once an hour. The writer is
// held while it runs.
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

// earlier finds the reply that the same request got by its Idempotency-Key.
//
// Gives:   the key under which a reply is kept, "" where none was sent; the digest of the request.
// Refuses: errKey where the key came with another request.
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
	out, err := a.orderOf(&w)
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
	if err := a.Office.WithdrawOrder(
		c.Request().Context(), number, c.noting("order_withdrawn", number),
	); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}
