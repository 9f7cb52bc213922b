package company

import "fmt"

// All names here are invented.
var (
	given = []string{"Aldo", "Brisa", "Corvin", "Dalia", "Edrik", "Fenja", "Gorm", "Hedda", "Ivo", "Jasna", "Kelda", "Loris", "Maren",
		"Nilo", "Oriel", "Petra", "Quinn", "Runa", "Soren", "Tilda", "Ulf", "Vesna", "Wim", "Yara", "Zeno"}
	family = []string{"Arnvik", "Bellamo", "Castrel", "Dunholm", "Esker", "Fjordal", "Grevik", "Halberg", "Immel", "Jorvan", "Kestrin",
		"Lundmar", "Morvane", "Nordell", "Ostrava", "Pellin", "Quast", "Rendal", "Sollen", "Tarnow", "Ulvang", "Vestra", "Wendel"}
	rivers = []string{"Alder", "Brack", "Cinder", "Dorn", "Elm", "Fallow", "Gant", "Heron", "Isel", "Jarrow"}
	works  = []string{"Works", "Terminal", "Refinery", "Station"}
)

// nameOf returns the nth name of a person; the first 575 are all different.
func nameOf(n int) (first, last string) {
	return given[n%len(given)], family[(n+n/(len(given)*len(family)))%len(family)]
}

// siteOf gives the code and the name of a site.
func siteOf(n int) (code, name string) {
	name = rivers[n%len(rivers)] + " " + works[n/len(rivers)%len(works)]
	if more := n / (len(rivers) * len(works)); more > 0 {
		name = fmt.Sprint(name, " ", more+1)
	}
	return fmt.Sprintf("S%02d", n+1), name
}
