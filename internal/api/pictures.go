package api

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"net/http"
	"regexp"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
	"thwart/internal/exchange"
)

const picturesPath = "/api/pictures"

var pictureKinds = []string{"image/jpeg", "image/png", "image/webp"}

func (a *API) routePictures() {
	tag := []string{"Pictures"}
	op := huma.Operation{OperationID: "send-picture", Method: http.MethodPost, Path: picturesPath, Tags: tag, DefaultStatus: http.StatusCreated,
		Summary: "Hand in a picture",
		Description: "JPEG, PNG or WebP. Positions, times, owner and device are taken out of it first; the answer says under which hash it is kept, and " +
			"a photo record names that. An answer means that the picture is on the medium. Send it again whenever no answer came: nothing is doubled.",
		MaxBodyBytes: thwart.MaxPhotoBytes, BodyReadTimeout: -1, SkipValidateBody: true, RequestBody: &huma.RequestBody{Required: true},
		Errors: []int{http.StatusRequestEntityTooLarge, http.StatusUnprocessableEntity, http.StatusServiceUnavailable}}
	route(a, op, signedIn(thwart.CanRecord), a.sendPicture)
	op.RequestBody.Content = map[string]*huma.MediaType{}
	images := map[string]*huma.MediaType{}
	for _, kind := range pictureKinds {
		op.RequestBody.Content[kind] = &huma.MediaType{Schema: &huma.Schema{Type: "string", Format: "binary"}}
		images[kind] = op.RequestBody.Content[kind]
	}
	get := signedIn(thwart.CanRead, thwart.CanRecord)
	get.own = "A role that only records sees the pictures that it sent itself."
	route(a, huma.Operation{OperationID: "get-picture", Method: http.MethodGet, Path: picturesPath + "/{id}", Tags: tag, Errors: []int{http.StatusNotFound},
		Summary: "A picture, by its hash", Responses: map[string]*huma.Response{"200": {Description: "the picture", Content: images}}}, get, a.getPicture)
}

type pictureIn struct {
	RawBody []byte `contentType:"image/jpeg"`
}

// PictureKept says under which hash a picture is kept.
type PictureKept struct {
	SHA256  string `json:"sha256"`
	Bytes   int    `json:"bytes"`
	Type    string `json:"type" enum:"image/jpeg,image/png,image/webp"`
	Had     bool   `json:"had" doc:"it was kept before"`
	Changed bool   `json:"changed" doc:"something was taken out of it, so that its hash is not that of what was sent"`
}

func (a *API) sendPicture(ctx context.Context, in *pictureIn) (*struct{ Body PictureKept }, error) {
	if a.cfg.Pictures == nil {
		return nil, problem(http.StatusServiceUnavailable, "this server keeps no pictures")
	}
	clean, kind, err := exchange.Scrub(in.RawBody)
	if err != nil {
		var bad *exchange.PictureError
		if errors.As(err, &bad) {
			return nil, field("body", bad.Error(), "a picture: "+strings.Join(pictureKinds, ", "))
		}
		return nil, err
	}
	sum := sha256.Sum256(clean)
	p := thwart.Picture{SHA256: hex.EncodeToString(sum[:]), Type: kind, Data: clean, SentBy: who(ctx).id(), ReceivedAt: a.cfg.Now().UTC()}
	had, err := a.cfg.Pictures.PutPicture(ctx, p)
	if err != nil {
		return nil, err
	}
	changed := sha256.Sum256(in.RawBody) != sum
	return &struct{ Body PictureKept }{PictureKept{SHA256: p.SHA256, Bytes: len(clean), Type: kind, Had: had, Changed: changed}}, nil
}

type pictureOf struct {
	SHA256 string `path:"id" maxLength:"64" doc:"SHA-256 in lower-case hexadecimal"`
}

type pictureOut struct {
	ContentType string `header:"Content-Type"`
	Disposition string `header:"Content-Disposition"`
	Policy      string `header:"Content-Security-Policy"`
	Body        []byte
}

var pictureHash = regexp.MustCompile(`^[0-9a-f]{64}$`)

func (a *API) getPicture(ctx context.Context, in *pictureOf) (*pictureOut, error) {
	gone := problem(http.StatusNotFound, "there is no such picture, or it is not yours to see")
	if a.cfg.Pictures == nil || !pictureHash.MatchString(in.SHA256) {
		return nil, gone
	}
	p, err := a.cfg.Pictures.PictureByHash(ctx, in.SHA256)
	if errors.Is(err, thwart.ErrNotFound) {
		return nil, gone
	}
	if err != nil {
		return nil, err
	}
	if c := who(ctx); !c.may(thwart.CanRead) && c.id() != p.SentBy {
		return nil, gone
	}
	name := p.SHA256[:16] + "." + strings.TrimPrefix(p.Type, "image/")
	return &pictureOut{
		ContentType: p.Type, Policy: "default-src 'none'; sandbox",
		Disposition: `inline; filename="` + name + `"`, Body: p.Data,
	}, nil
}
