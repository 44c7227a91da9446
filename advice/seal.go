package advice

import (
	"time"

	"thwart"
)

// sealAnswer is what a seal or release is worth at this launch.
type sealAnswer struct {
	accepted bool // proof that the craft has been in no other water since it was cleared
	local    bool // fitted for or by this water's own programme
	reason   thwart.Reason
}

// judgeSeal reads a seal. A band counts only whole, with its receipt where the protocol asks for one, fitted by an
// inspector of an issuer the programme trusts, and only until the craft touches water. Anything unknown does not count; a
// seal of a kind nobody can tell may be the one that warns of severe risk.
func judgeSeal(s *thwart.Seal, p *thwart.Protocol, water string, at time.Time) sealAnswer {
	refuse := func(code thwart.ReasonCode, o thwart.Outcome) sealAnswer {
		return sealAnswer{reason: thwart.Reason{Code: code, Outcome: o}}
	}
	switch {
	case s.Kind == "severe_risk", s.Kind == "":
		return refuse(thwart.ReasonSealSevere, thwart.Hold)
	case s.Kind == "held" && s.RemovedSoon != thwart.No && s.Intact != thwart.Yes:
		return refuse(thwart.ReasonSealBroken, thwart.Hold)
	case s.Kind == "held" && (s.HoldEndsAt == nil || s.HoldEndsAt.After(at)):
		return refuse(thwart.ReasonSealHeld, thwart.DryOut)
	case s.Kind == "release":
		if p.Release && s.ForWater != "" && s.ForWater == water && s.Launched == thwart.No {
			return sealAnswer{accepted: true, local: true, reason: thwart.Reason{Code: thwart.ReasonSealAccepted}}
		}
		return refuse(thwart.ReasonSealNotCounted, thwart.Launch)
	}
	whole := s.Intact == thwart.Yes && s.Launched == thwart.No && s.FittedBy == "inspector"
	papers := s.Receipt == thwart.Yes || !p.SealReceipt
	if whole && papers && contains(p.SealTrust, s.Issuer) && s.Issuer != "" {
		return sealAnswer{
			accepted: true, local: s.Issuer == p.SealTrust[0],
			reason: thwart.Reason{Code: thwart.ReasonSealAccepted},
		}
	}
	return refuse(thwart.ReasonSealNotCounted, thwart.Launch)
}
