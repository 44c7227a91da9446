// Package skill says from a season's records what people find and miss, and what that asks for: practice, certificates, and the
// chances that risk and plans are computed with.
//
// Start with [Of]. It gives a [Report] on everybody; [Report.For] keeps what one person may see of it, which is her own and
// what concerns nobody in particular. [Standings] says who holds which certificate and how far each curriculum is done, and
// [May] whether somebody may be put on a shift.
//
// # Fairness
//
// A person's chance is given only from ten objects on, with its interval, and with her trials pulled towards everybody's. People
// are listed by name. Nothing puts one before another: where two intervals overlap the records do not tell them apart, and
// [Report] says nothing of the rest either. Few trials say little, and the words say so.
//
// # What counts as evidence
//
// Planted objects, and craft looked at by two people of whom neither knew what the other found, count for what somebody finds in
// the field. Practice craft on a screen do not: they show where to practise and when.
package skill
