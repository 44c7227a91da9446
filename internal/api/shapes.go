package api

import (
	"context"
	"slices"
	"strings"

	"thwart"
)

type none struct{}

type list[T any] struct {
	Body struct {
		Items []T `json:"items"`
	}
}

func listOf[T any](items []T) *list[T] {
	l := &list[T]{}
	if items == nil {
		items = []T{}
	}
	l.Body.Items = items
	return l
}

func oneOf[T ~string](name string, value T, accepted []T) *Problem {
	if slices.Contains(accepted, value) {
		return nil
	}
	words := make([]string, len(accepted))
	for i, w := range accepted {
		words[i] = string(w)
	}
	return field(name, value, strings.Join(words, ", "))
}

type byID struct {
	ID string `path:"id" maxLength:"40"`
}

// PageIn asks for a part of a list.
type PageIn struct {
	After string `query:"after" maxLength:"200" doc:"next of the page before"`
	Limit int    `query:"limit" minimum:"1" maximum:"1000" default:"100"`
}

// eachSubject goes through every thing of one kind, page by page.
func eachSubject(ctx context.Context, store thwart.Store, kind thwart.Kind, do func(s *thwart.Subject)) error {
	for after := ""; ; {
		page, err := store.Subjects(ctx, thwart.SubjectQuery{Kind: kind, After: after, Limit: MaxPage})
		if err != nil {
			return err
		}
		for i := range page.Items {
			do(&page.Items[i])
		}
		if after = page.Next; after == "" {
			return nil
		}
	}
}
