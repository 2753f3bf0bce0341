package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"

	"example.org/handful/cmd/handful/disk"
	"example.org/handful/lang/plan"
	"example.org/handful/lang/proof"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/words"
)

// certificatePlace is where a certificate goes; nil is nowhere.
func (v *planVerb) certificatePlace(s *streams) (*disk.Place, error) {
	switch {
	case v.Cert == "":
		return nil, nil
	case v.Verify != "":
		return nil, errors.New("--certificate writes one and --verify reads one: ask for one of them")
	case v.WhatIf || v.absent():
		return nil, errors.New("--certificate is for a whole plan, or for --fewest")
	}
	return newPlace(s, v.Cert, v.Force)
}

func writeCertificate(to *disk.Place, p *plan.Plan) error {
	if to == nil {
		return nil
	}
	var out bytes.Buffer
	if err := p.Certificate.Write(&out); err != nil {
		return err
	}
	return to.Write(out.Bytes())
}

// errNotProven is what the command ends with when a certificate does not hold.
var errNotProven = exitCode(exitFindings)

// verify says what of a certificate is certain.
func (v *planVerb) verify(s *streams, in input, opt plan.Options) error {
	from, err := os.Open(v.Verify)
	if err != nil {
		return err
	}
	defer from.Close()
	c, err := proof.Read(from)
	if err != nil {
		return fmt.Errorf("%s: %w", v.Verify, err)
	}
	verdict, err := proof.Verify(s.ctx, in.name, syntax.Parse(in.text), c, proof.Options{Load: opt.Load, Uses: opt.Uses})
	if s.interrupted() {
		return unfinished{"what of it is certain is not known yet"}
	}
	if err != nil {
		return fmt.Errorf("%s: %w", v.Verify, err)
	}
	for _, l := range verdict.Against {
		fmt.Fprintf(s.out, "does not hold: %s\n", clean(l))
	}
	fmt.Fprintf(s.out, "%d of %s certain: at least %s is lost, weighted, by %s, whoever plays what; %s is claimed\n",
		verdict.Holds, words.Count(len(c.Moments), "moment is", "moments are"), number(verdict.LostAtLeast), words.Count(len(c.Cast.Players), "player", "players"), number(c.Claim.LostAtLeast))
	if !verdict.Proven(c) {
		return errNotProven
	}
	return nil
}
