// Command bitdigest prints, for every room, a digest of its replies to random documents, so that machines can be compared bit for bit.
package main

import (
	"fmt"
	"hash/fnv"
	"os"
	"strconv"

	"gaugewright/calc"
)

func main() {
	first, count := uint64(1), 100
	if len(os.Args) == 3 {
		f, err1 := strconv.ParseUint(os.Args[1], 10, 64)
		n, err2 := strconv.Atoi(os.Args[2])
		if err1 != nil || err2 != nil {
			fmt.Fprintln(os.Stderr, "usage: bitdigest FIRST_SEED COUNT")
			os.Exit(2)
		}
		first, count = f, n
	}
	for _, d := range calc.Doors() {
		if d.Sample == nil {
			fmt.Println(d.Name, "no sample")
			continue
		}
		h := fnv.New64a()
		refused := 0
		for i := range uint64(count) {
			reply := d.Run(d.Sample(first+i), calc.Version)
			if len(reply) > 9 && string(reply[:9]) == `{"error":` {
				refused++
			}
			h.Write(reply)
			h.Write([]byte{'\n'})
		}
		fmt.Printf("%s %016x %d refused\n", d.Name, h.Sum64(), refused)
	}
}
