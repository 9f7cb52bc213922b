// Package world plays phones, hubs and an office through bad days made from a seed, and holds what comes of them to what happened.
package world
