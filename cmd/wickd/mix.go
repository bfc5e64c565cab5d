package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"wickd/cmd/internal/web"
	"wickd/model"
	"wickd/model/design"
	"wickd/model/solution"
)

type mixCommand struct {
	TopUp   topUpCommand   `cmd:"" name:"top-up" help:"Fill the reservoir up, at its target."`
	Correct correctCommand `cmd:"" help:"Bring what is in the reservoir to its target."`
	Change  changeCommand  `cmd:"" help:"Let the reservoir out and fill it anew."`
	Recipe  recipeCommand  `cmd:"" help:"Weigh salts for two stock tanks."`
}

// mixFlags are what the three ways of mixing share.
type mixFlags struct {
	Volume      volumeFlag      `placeholder:"VOLUME" help:"What is in the reservoir (for change: what cannot be let out): 120L."`
	EC          ecFlag          `name:"ec" placeholder:"EC" help:"Its EC at 25 °C: 1.6mS/cm."`
	PH          numberFlag      `name:"ph" placeholder:"PH" help:"Its pH: 6.4."`
	Temperature temperatureFlag `placeholder:"TEMP" help:"Its temperature: 21°C; 20 °C when left out."`
	Phosphate   numberFlag      `placeholder:"MMOL" help:"Its phosphate in mmol/L; guessed from the EC when left out."`
	Carbon      numberFlag      `placeholder:"MMOL" help:"Its carbonate in mmol/L, right after mixing, as the plan for it says."`

	Reservoir string     `placeholder:"ID" help:"Ask the running daemon for these of a reservoir instead."`
	Site      string     `type:"path" placeholder:"FILE" help:"Take the target and what the reservoir holds from a site file; with --reservoir."`
	Full      volumeFlag `placeholder:"VOLUME" help:"What the reservoir holds when full: 200L."`
	To        volumeFlag `placeholder:"VOLUME" help:"Fill to this volume; full when left out."`

	TargetEC ecFlag     `name:"target-ec" placeholder:"EC" help:"1.4mS/cm."`
	TargetPH numberFlag `name:"target-ph" placeholder:"PH" help:"5.8; without it the pH is left alone."`

	WaterEC    ecFlag         `name:"water-ec" placeholder:"EC" help:"EC of the water you add: 0.4mS/cm; 0 (rain) when left out."`
	WaterPH    numberFlag     `name:"water-ph" placeholder:"PH" help:"Its pH; 7.5 when left out."`
	Alkalinity alkalinityFlag `placeholder:"AMOUNT" help:"Its alkalinity: '150 mg/L CaCO3', 3meq/L or 8°dH; 0 (rain) when left out."`

	Stock  []stockFlag `sep:"none" placeholder:"NAME=EC" help:"A concentrate, by the EC in mS/cm that 1 mL in a litre adds: A=0.11. Once for each; they are dosed in equal parts."`
	Stocks string      `type:"path" placeholder:"FILE" help:"The concentrates of 'wickd mix recipe --json' instead."`
	Acid   reagentFlag `placeholder:"ACID" help:"'nitric 38%', 'phosphoric 85%', 'sulfuric 35%', 'citric', or 'nitric 1mol/L'."`
	Base   reagentFlag `placeholder:"BASE" help:"'potassium hydroxide 10%' or 'potassium bicarbonate'."`
	Aired  bool        `help:"Dose for the pH of tomorrow, when carbon dioxide has left: for a reservoir with an air stone."`
	JSON   bool        `name:"json" help:"For machines."`
	daemonAddress
}

type (
	topUpCommand   struct{ mixFlags }
	correctCommand struct{ mixFlags }
	changeCommand  struct{ mixFlags }
)

// Help is shown under the flags' own help.
func (topUpCommand) Help() string {
	return `  wickd mix top-up --volume 120L --ec 1.6mS/cm --ph 6.4 --full 200L --target-ec 1.4mS/cm --target-ph 5.8
      --water-ec 0.4mS/cm --alkalinity 3meq/L --stock A=0.11 --stock B=0.09 --acid 'phosphoric 85%'
  wickd mix top-up --reservoir tank --site site.yaml --stocks stocks.json --acid 'nitric 38%'`
}

func (k topUpCommand) Run(ctx context.Context, c console) error {
	return k.run(ctx, c, solution.TopUp)
}

func (k correctCommand) Run(ctx context.Context, c console) error {
	return k.run(ctx, c, solution.Correct)
}

func (k changeCommand) Run(ctx context.Context, c console) error {
	return k.run(ctx, c, solution.Change)
}

func (f mixFlags) run(ctx context.Context, c console, mode solution.Mode) error {
	r, standing, err := f.request(ctx, c, mode)
	if err != nil {
		return err
	}
	if err := r.Validate(); err != nil {
		return usageError{err}
	}
	plan, err := r.Plan()
	if err != nil {
		return fmt.Errorf("mix: %w", err)
	}
	m := mixture{request: r, standing: standing, plan: plan, rain: !f.WaterEC.given && !f.Alkalinity.given}
	if f.JSON {
		e := json.NewEncoder(c.out)
		e.SetIndent("", "  ")
		return e.Encode(m.document())
	}
	_, err = c.out.Write([]byte(m.text()))
	return err
}

// request gathers what the command line, the daemon and the site file say, in
// this order of precedence.
func (f mixFlags) request(ctx context.Context, c console, mode solution.Mode) (r solution.Request, standing float64, err error) {
	r = solution.Request{
		Mode: mode, Temperature: 20, Fill: f.To.value, Phosphate: f.Phosphate.value, Carbon: f.Carbon.value, Aired: f.Aired,
		Water: solution.Water{EC: f.WaterEC.value, PH: 7.5, Alkalinity: f.Alkalinity.value},
		Acid:  f.Acid.reagent, Base: f.Base.reagent,
	}
	if err := f.ask(ctx, &r); err != nil {
		return r, 0, err
	}
	standing, err = f.fromSite(c, &r)
	if err != nil {
		return r, 0, err
	}
	for _, over := range []struct {
		q    quantity
		into *float64
	}{
		{f.Volume.quantity, &r.Volume}, {f.EC.quantity, &r.EC}, {f.PH.quantity, &r.PH}, {f.Temperature.quantity, &r.Temperature},
		{f.Full.quantity, &r.Capacity}, {f.TargetEC.quantity, &r.TargetEC}, {f.TargetPH.quantity, &r.TargetPH}, {f.WaterPH.quantity, &r.Water.PH},
	} {
		if over.q.given {
			*over.into = over.q.value
		}
	}
	if r.Stocks, err = f.stocks(); err != nil {
		return r, 0, err
	}
	if r.Volume > 0 && r.Mode != solution.Change {
		r.Volume, r.Capacity = r.Volume+standing, r.Capacity+standing
		if r.Fill > 0 {
			r.Fill += standing
		}
	} else {
		standing = 0
	}
	return r, standing, f.complete(&r)
}

// complete fills in what follows from the rest, and asks for what is missing.
func (f mixFlags) complete(r *solution.Request) error {
	if r.Capacity == 0 {
		r.Capacity = max(r.Fill, r.Volume)
	}
	switch {
	case r.Mode != solution.Change && r.Volume == 0:
		return usageError{errors.New("mix: how much is in the reservoir? Give --volume, or --reservoir to ask the daemon")}
	case r.Volume > 0 && r.EC == 0:
		return usageError{errors.New("mix: what is the EC of what is in the reservoir? Give --ec, or --reservoir to ask the daemon")}
	case r.Capacity == 0:
		return usageError{errors.New("mix: how much is to be in it? Give --full, --to, or --reservoir with --site")}
	case r.TargetEC == 0 && (r.Mode != solution.Correct || r.TargetPH == 0):
		return usageError{errors.New("mix: to which EC? Give --target-ec, or --reservoir with --site")}
	}
	return nil
}

// ask takes what stands in a reservoir from the running daemon.
func (f mixFlags) ask(ctx context.Context, r *solution.Request) error {
	if f.Reservoir == "" || r.Mode == solution.Change {
		return nil
	}
	doc, err := f.client().Snapshot(ctx)
	if err != nil {
		return err
	}
	for _, v := range doc.Reservoirs {
		if v.Reservoir != f.Reservoir {
			continue
		}
		return errors.Join(
			take(v.Volume, f.Volume.given, "volume", "--volume", &r.Volume),
			take(v.EC, f.EC.given, "EC", "--ec", &r.EC),
			take(v.PH, f.PH.given, "pH", "--ph", &r.PH),
			take(v.Temperature, true, "", "", &r.Temperature),
		)
	}
	return fmt.Errorf("mix: the daemon watches no reservoir %q", f.Reservoir)
}

// take uses a figure of the daemon if it is fresh. A stale one would be mixed
// into the tank, so it is refused unless the command line gives the figure or it
// can be done without.
func take(figure web.Figure, spare bool, name, flag string, into *float64) error {
	if figure.Value != nil && figure.Quality == model.Fresh {
		*into = *figure.Value
		return nil
	}
	if spare {
		return nil
	}
	return fmt.Errorf("mix: the daemon has no fresh %s; measure it and give %s", name, flag)
}

// fromSite takes the target and what the reservoir holds, and gives what stands
// in its channels, L.
func (f mixFlags) fromSite(c console, r *solution.Request) (standing float64, err error) {
	if f.Site == "" {
		return 0, nil
	}
	if f.Reservoir == "" {
		return 0, usageError{errors.New("mix: which reservoir of the site file? Give --reservoir")}
	}
	site, err := loadSite(f.Site, c)
	if err != nil {
		return 0, err
	}
	built, err := design.Build(site.Site)
	if err != nil {
		return 0, err
	}
	for _, v := range built.Reservoirs {
		if v.Reservoir.ID == f.Reservoir {
			r.Capacity, r.TargetEC, r.TargetPH = v.Full(), v.Reservoir.Target.EC, v.Reservoir.Target.PH
			return v.Standing, nil
		}
	}
	var ids []string
	for _, v := range site.Site.Reservoirs {
		ids = append(ids, v.ID)
	}
	return 0, usageError{fmt.Errorf("mix: the site file has no reservoir %q; it has %s", f.Reservoir, strings.Join(ids, ", "))}
}
