// Command bitdigest prints digests of every room's replies to random documents, so that machines can be compared bit for bit, or the documents themselves.
package main

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"hash/fnv"
	"os"
	"slices"
	"strconv"

	"gaugewright/calc"
	"gaugewright/calc/document"
)

// block is how many documents share one digest: a differing one is then found among so many.
const block = 1000

func main() {
	out := bufio.NewWriterSize(os.Stdout, 1<<16)
	if len(os.Args) < 4 || !run(out, os.Args[1], os.Args[2], os.Args[3], os.Args[4:]) {
		fmt.Fprintln(os.Stderr, "usage: bitdigest digest|documents FIRST_SEED COUNT [ROOM…]")
		os.Exit(2)
	}
	if err := out.Flush(); err != nil {
		fmt.Fprintln(os.Stderr, "bitdigest:", err)
		os.Exit(1)
	}
}

// run writes one line ROOM FIRST_SEED COUNT DIGEST REFUSED for each block of each room, or each document behind its length (four bytes,
// the lowest first) as a request of the phone's module. Of some rooms only, where any are named.
func run(out *bufio.Writer, what, firstText, countText string, rooms []string) bool {
	first, err1 := strconv.ParseUint(firstText, 10, 64)
	count, err2 := strconv.ParseUint(countText, 10, 32)
	if err1 != nil || err2 != nil || what != "digest" && what != "documents" {
		return false
	}
	if slices.ContainsFunc(rooms, func(r string) bool {
		return !slices.ContainsFunc(calc.Samples(), func(s document.Sample) bool { return s.Room == r })
	}) {
		return false
	}
	for _, s := range calc.Samples() {
		if len(rooms) > 0 && !slices.Contains(rooms, s.Room) {
			continue
		}
		count := share(s.Room, count)
		if what == "documents" {
			for i := range count {
				doc := s.Make(first + i)
				request := append([]byte("calc/"+s.Room+"\n"), doc...)
				_, _ = out.Write(binary.LittleEndian.AppendUint32(nil, uint32(len(request))))
				_, _ = out.Write(request)
			}
			continue
		}
		for start := uint64(0); start < count; start += block {
			digest(out, s.Room, first+start, min(block, count-start), s.Make)
		}
	}
	return true
}

// share is how many of count documents a room runs: of many, the rooms that integrate numerically take a twentieth, or they would take nearly all the time.
func share(room string, count uint64) uint64 {
	switch room {
	case "lot", "tolerance_factor", "standard", "risk":
		return max(min(count, 2000), count/20)
	}
	return count
}

func digest(out *bufio.Writer, room string, first, count uint64, sample func(uint64) []byte) {
	h := fnv.New64a()
	refused := 0
	for i := range count {
		reply := calc.Call(room, sample(first+i))
		if len(reply) > 9 && string(reply[:9]) == `{"error":` {
			refused++
		}
		h.Write(reply)
		h.Write([]byte{'\n'})
	}
	fmt.Fprintf(out, "%s %d %d %016x %d\n", room, first, count, h.Sum64(), refused)
}
