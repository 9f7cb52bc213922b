// Command bitdigest prints digests of every calculation's replies to random documents, so that
// machines can be compared bit for bit. It can also print the documents themselves.
package main

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/fnv"
	"os"
	"slices"
	"strconv"

	"gaugewright/calc"
	"gaugewright/calc/document"
)

// block is how many documents share one digest, and so among how many a difference must be
// searched.
const block = 1000

func main() {
	out := bufio.NewWriterSize(os.Stdout, 1<<16)
	if len(os.Args) < 4 || !run(out, os.Args[1], os.Args[2], os.Args[3], os.Args[4:]) {
		fmt.Fprintln(os.Stderr, "usage: bitdigest digest|frozen|documents FIRST_SEED COUNT [CALCULATION…]")
		os.Exit(2)
	}
	if err := out.Flush(); err != nil {
		fmt.Fprintln(os.Stderr, "bitdigest:", err)
		os.Exit(1)
	}
}

// run writes one line CALCULATION FIRST_SEED COUNT DIGEST REFUSED for each block of each
// calculation (frozen: without the version), or each document after its length (four bytes, the
// lowest first) as a request to the phone's module. If calculations are named, it runs only those.
func run(out *bufio.Writer, what, firstText, countText string, calculations []string) bool {
	first, err1 := strconv.ParseUint(firstText, 10, 64)
	count, err2 := strconv.ParseUint(countText, 10, 32)
	if err1 != nil || err2 != nil || what != "digest" && what != "frozen" && what != "documents" {
		return false
	}
	if slices.ContainsFunc(calculations, func(r string) bool {
		return !slices.ContainsFunc(calc.Samples(), func(s document.Sample) bool { return s.Calculation == r })
	}) {
		return false
	}
	for _, s := range calc.Samples() {
		if len(calculations) > 0 && !slices.Contains(calculations, s.Calculation) {
			continue
		}
		count := share(s.Calculation, count)
		if what == "documents" {
			for i := range count {
				doc := s.Make(first + i)
				request := append([]byte("calc/"+s.Calculation+"\n"), doc...)
				_, _ = out.Write(binary.LittleEndian.AppendUint32(nil, uint32(len(request))))
				_, _ = out.Write(request)
			}
			continue
		}
		for start := uint64(0); start < count; start += block {
			digest(out, s.Calculation, first+start, min(block, count-start), s.Make, what == "frozen")
		}
	}
	return true
}

// share returns how many of count documents a calculation runs. If count is large, calculations
// that integrate numerically run a twentieth, or they would take nearly all the time.
func share(calculation string, count uint64) uint64 {
	switch calculation {
	case "lot", "tolerance_factor", "standard", "risk":
		return max(min(count, 2000), count/20)
	}
	return count
}

// version is the field of a reply that names the version of the calculations.
var version = []byte(`"calc":"` + calc.Version + `"`)

func digest(out *bufio.Writer, calculation string, first, count uint64, sample func(uint64) []byte, frozen bool) {
	h := fnv.New64a()
	refused := 0
	for i := range count {
		reply := calc.Call(calculation, sample(first+i))
		if len(reply) > 9 && string(reply[:9]) == `{"error":` {
			refused++
		}
		if frozen {
			reply = bytes.ReplaceAll(reply, version, nil)
		}
		h.Write(reply)
		h.Write([]byte{'\n'})
	}
	fmt.Fprintf(out, "%s %d %d %016x %d\n", calculation, first, count, h.Sum64(), refused)
}
