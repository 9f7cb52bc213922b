package office

import (
	"fmt"
	"strconv"
	"strings"

	"gaugewright/sync/change"
)

// lifeLength gives 20 random bits: the chance of the same twice after two restores of one backup is
// one in a million.
const lifeLength = 4

// number remembers the highest number of a certificate.
func (r *remembered) number(c *change.Change) {
	if c.Kind != "certificate" {
		return
	}
	if number, ok := settingOf(c, "number"); ok {
		parts := strings.Split(textOf(number), "-")
		year, err := strconv.Atoi(parts[0])
		n, badly := strconv.Atoi(parts[len(parts)-1])
		if len(parts) > 1 && err == nil && badly == nil {
			r.reached(year, n)
		}
	}
}

func (r *remembered) reached(year, n int) {
	if r.Numbers == nil {
		r.Numbers = map[int]int{}
	}
	r.Numbers[year] = max(r.Numbers[year], n)
}

// nextNumber returns the next certificate number of a year; mu must be held. After a restore from a
// backup the number has an extra part: the numbers given since the backup are unknown here, and
// none may be given twice.
func (w *Writer) nextNumber(year int) string {
	n := w.kept.Numbers[year] + 1
	restored := w.store.Restored()
	if restored == "" {
		return fmt.Sprintf("%d-%05d", year, n)
	}
	life := strings.ToUpper(restored[:min(len(restored), lifeLength)])
	return fmt.Sprintf("%d-%s-%05d", year, life, n)
}
