package exchange

import "errors"

func readSMF(data []byte, opt Options) (*Work, error) { return nil, errors.New("wip") }
