package config

import (
	"encoding/json"
	"fmt"
	"reflect"
	"regexp"
	"strings"

	"github.com/invopop/jsonschema"

	"wickd/model/unit"
)

// Schema is the JSON Schema of the site file, for editors: keys, kinds, units
// and bounds of plain numbers. What needs two values to be compared, Parse
// alone finds.
func Schema() ([]byte, error) {
	r := jsonschema.Reflector{
		FieldNameTag:               "yaml",
		RequiredFromJSONSchemaTags: true,
		Anonymous:                  true,
		ExpandedStruct:             true,
		Mapper:                     leafSchema,
		Namer:                      func(t reflect.Type) string { return strings.ToLower(strings.TrimPrefix(t.Name(), "raw")) },
	}
	s := r.Reflect(&file{})
	s.Title = "Site file of wickd"
	s.Description = "One place that wickd watches. Quantities carry their unit: 108 mm, 1.4 mS/cm, 97 %."
	data, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("make JSON Schema: %w", err)
	}
	return append(data, '\n'), nil
}

// leafSchema gives the schema of a leaf, and nil for everything else.
func leafSchema(t reflect.Type) *jsonschema.Schema {
	if s, ok := reflect.New(t).Interface().(interface{ schema() *jsonschema.Schema }); ok {
		return s.schema()
	}
	return nil
}

// textPattern refuses the empty string.
const textPattern = `\S`

func (text) schema() *jsonschema.Schema {
	return &jsonschema.Schema{Type: "string", Pattern: textPattern}
}

func (label) schema() *jsonschema.Schema {
	return &jsonschema.Schema{AnyOf: []*jsonschema.Schema{{Type: "string", Pattern: textPattern}, {Type: "number"}}}
}

func (number) schema() *jsonschema.Schema  { return &jsonschema.Schema{Type: "number"} }
func (integer) schema() *jsonschema.Schema { return &jsonschema.Schema{Type: "integer"} }
func (flag) schema() *jsonschema.Schema    { return &jsonschema.Schema{Type: "boolean"} }

func (date) schema() *jsonschema.Schema {
	return &jsonschema.Schema{Type: "string", Format: "date", Pattern: `^[0-9]{4}-[0-9]{2}-[0-9]{2}$`}
}

func (loose) schema() *jsonschema.Schema {
	return &jsonschema.Schema{AnyOf: []*jsonschema.Schema{{Type: "string", Pattern: `^[+-]?[0-9]`}, {Type: "number"}}}
}

func (q *quantity[D]) schema() *jsonschema.Schema { return quantitySchema(q.dimension()) }

func (point) schema() *jsonschema.Schema {
	return pairSchema(&jsonschema.Schema{Type: "number"}, &jsonschema.Schema{Type: "number"})
}

func (row) schema() *jsonschema.Schema {
	return pairSchema(quantitySchema(unit.Length), quantitySchema(unit.Volume))
}

func pairSchema(first, second *jsonschema.Schema) *jsonschema.Schema {
	two := uint64(2)
	return &jsonschema.Schema{Type: "array", PrefixItems: []*jsonschema.Schema{first, second}, MinItems: &two, MaxItems: &two}
}

// quantitySchema takes a number and one of the spellings of the dimension's
// units. A unit that looks like a number is left out: no pattern could tell it
// from a missing one.
func quantitySchema(d *unit.Dimension) *jsonschema.Schema {
	alike := strings.NewReplacer("u", "[uµμ]", "°", "[°º]", "2", "[2²]", "3", "[3³]")
	var units []string
	for _, s := range d.Spellings() {
		if s != "1" {
			units = append(units, alike.Replace(regexp.QuoteMeta(s)))
		}
	}
	return &jsonschema.Schema{
		Type:    "string",
		Pattern: `^[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)? *(` + strings.Join(units, "|") + `)$`,
	}
}

// alternatives makes a schema that takes exactly one of several sets of keys.
func alternatives(s *jsonschema.Schema, ways ...[]string) {
	for _, keys := range ways {
		s.OneOf = append(s.OneOf, &jsonschema.Schema{Required: keys})
	}
}

// JSONSchemaExtend makes a shape have exactly one of its keys.
func (rawShape) JSONSchemaExtend(s *jsonschema.Schema) {
	one := uint64(1)
	s.MinProperties, s.MaxProperties = &one, &one
}

// JSONSchemaExtend makes a bag have id or ids.
func (rawBag) JSONSchemaExtend(s *jsonschema.Schema) {
	alternatives(s, []string{"id"}, []string{"ids"})
}

// JSONSchemaExtend makes a tube have a diameter or a lay-flat width.
func (rawTube) JSONSchemaExtend(s *jsonschema.Schema) {
	alternatives(s, []string{"diameter"}, []string{"lay_flat"})
}

// JSONSchemaExtend makes a medium be given in one way.
func (rawMedium) JSONSchemaExtend(s *jsonschema.Schema) {
	alternatives(s, []string{"retention", "conductivity"}, []string{"parts"}, []string{"typical"})
}

// JSONSchemaExtend makes a wick be given in one way.
func (rawWick) JSONSchemaExtend(s *jsonschema.Schema) {
	alternatives(s, []string{"material"}, []string{"retention", "conductivity"})
}

// JSONSchemaExtend makes readings come from one place.
func (rawMQTT) JSONSchemaExtend(s *jsonschema.Schema) {
	alternatives(s, []string{"broker"}, []string{"embedded"})
}

// JSONSchemaExtend names the conditions and priorities that may be changed.
func (rawAlerts) JSONSchemaExtend(s *jsonschema.Schema) {
	names := func(key string, known []string) {
		property, _ := s.Properties.Get(key)
		property.PropertyNames = &jsonschema.Schema{}
		for _, name := range known {
			property.PropertyNames.Enum = append(property.PropertyNames.Enum, name)
		}
	}
	names("conditions", conditionNames())
	names("reminders", priorities())
}

// JSONSchemaExtend makes a recipient have one address.
func (rawRecipient) JSONSchemaExtend(s *jsonschema.Schema) {
	alternatives(s, []string{"url_file"}, []string{"url_env"})
}

// JSONSchemaExtend makes a user have one password.
func (rawUser) JSONSchemaExtend(s *jsonschema.Schema) {
	alternatives(s, []string{"password_file"}, []string{"password_env"})
}
