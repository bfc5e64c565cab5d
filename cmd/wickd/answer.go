package main

import "encoding/json"

// document writes a value for machines.
func (c console) document(v any) error {
	e := json.NewEncoder(c.out)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// answer writes what came of a command, for machines or for people.
func (c console) answer(asJSON bool, document any, text string) error {
	if asJSON {
		return c.document(document)
	}
	_, err := c.out.Write([]byte(text))
	return err
}
