package export

import (
	"bytes"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/shopspring/decimal"

	"wraptally/catalog"
)

// The JSON keeps to its published schema, checked by a general-purpose
// validator of JSON Schema: the demonstration, with stock and offcuts, with
// packs shared by the shift, and a survey of which nothing can be estimated.
func TestJSONKeepsToItsSchema(t *testing.T) {
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(SchemaText))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("campaign.schema.json", doc); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("campaign.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	for name, trial := range map[string]trial{
		"demo":  {path: demoSurvey},
		"stock": {path: demoSurvey, stock: demoStock()},
		"moves": {path: demoSurvey, stock: demoStock(), moves: []catalog.Movement{
			{Move: "ordered", Order: "7", Item: "GOGGLE", Quantity: decimal.NewFromInt(3)}, {Move: "received", Order: "7", Item: "GOGGLE", Quantity: decimal.NewFromInt(1)},
		}},
		"shared": {path: demoSurvey, sets: []string{"mix.pooling=crew-shift", "order.split_suppliers=yes"}},
		"hot":    {path: demoSurvey, sets: []string{"work.temperature=90", "blank.design_temp_high=200"}},
	} {
		t.Run(name, func(t *testing.T) {
			var out bytes.Buffer
			if err := JSON(&out, trial.run(t), Options{Version: "test"}); err != nil {
				t.Fatal(err)
			}
			value, err := jsonschema.UnmarshalJSON(&out)
			if err != nil {
				t.Fatal(err)
			}
			if err := schema.Validate(value); err != nil {
				t.Errorf("%v", err)
			}
			value.(map[string]any)["bid"].(map[string]any)["total"] = 12.5 // a bare number is no figure
			if schema.Validate(value) == nil {
				t.Error("a figure without unit and derivation passes")
			}
		})
	}
}
