package server

import (
	"html"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

// person is somebody at a browser: she keeps cookies and follows a redirect.
func person(t *testing.T) *http.Client {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	return &http.Client{Jar: jar}
}

// send fills in a form as a browser does and gives the page that is then shown. header is name, value, name, value.
func send(t *testing.T, c *http.Client, to string, typed map[string]string, header ...string) (*http.Response, string) {
	t.Helper()
	form := url.Values{}
	for k, v := range typed {
		form.Set(k, v)
	}
	req, err := http.NewRequest("POST", to, strings.NewReader(form.Encode()))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	for i := 0; i < len(header); i += 2 {
		req.Header.Set(header[i], header[i+1])
	}
	res, err := c.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	b, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return res, html.UnescapeString(string(b))
}

func codeOn(t *testing.T, out *terminal) string {
	t.Helper()
	code := regexp.MustCompile(`(?m)^ {4}(\S+)$`).FindStringSubmatch(out.String())
	if code == nil {
		t.Fatalf("no code on the terminal: %q", out)
	}
	return code[1]
}

// problems reads which inputs of a page are marked, and insists that each is described by a problem that is there.
func problems(t *testing.T, page string) map[string]string {
	t.Helper()
	got := map[string]string{}
	for _, in := range regexp.MustCompile(`<input[^>]*>`).FindAllString(page, -1) {
		id := regexp.MustCompile(` id="([^"]+)"`).FindStringSubmatch(in)[1]
		if !strings.Contains(in, `aria-invalid="true"`) {
			continue
		}
		if !regexp.MustCompile(`aria-describedby="` + id + `-problem[ "]`).MatchString(in) {
			t.Errorf("%s is not described by its problem: %s", id, in)
		}
		text := regexp.MustCompile(`id="` + id + `-problem"><strong>[^<]*</strong> ([^<]+)</p>`).FindStringSubmatch(page)
		if text == nil {
			t.Errorf("%s has no problem on the page", id)
			continue
		}
		if !strings.Contains(page, `<a href="#`+id+`">`) {
			t.Errorf("the list of problems does not lead to %s", id)
		}
		got[id] = text[1]
	}
	return got
}

func TestSetUpByForm(t *testing.T) {
	address, out, _ := start(t, Config{Dir: t.TempDir(), Fresh: true})
	code := codeOn(t, out)
	const secret = "kort 1"
	for name, c := range map[string]struct {
		typed  map[string]string
		status int
		wrong  map[string]string // by input: part of its problem
	}{
		"nothing": {nil, 422, map[string]string{
			"setup-code": "Nothing was given", "setup-name": "1 to 200 characters", "setup-login": "2 to 40", "setup-password": "12 to 256",
		}},
		"spaces for a name": {
			map[string]string{"code": code, "name": "  ", "login": "marit", "password": "otter hammock lantern"},
			422, map[string]string{"setup-name": "Nothing was given"},
		},
		"a wrong code and a short password": {
			map[string]string{"code": "AAAAA-BBBBB", "name": "Marit", "login": "marit", "password": secret},
			403, map[string]string{"setup-code": "not the code", "setup-password": "too short"},
		},
		"a login with a space, a short password": {
			map[string]string{"code": code, "name": "Marit", "login": "ma rit", "password": secret},
			422, map[string]string{"setup-login": "“ma rit”", "setup-password": "too short"},
		},
		"a password that is too long": {
			map[string]string{"code": code, "name": "Marit", "login": "marit", "password": strings.Repeat("x", 257)},
			422, map[string]string{"setup-password": "too long"},
		},
		"the login as password": {
			map[string]string{"code": code, "name": "Marit", "login": "marit-the-manager", "password": "Marit-The-Manager"},
			422, map[string]string{"setup-password": "something else than the login"},
		},
		"a name that would be markup": {
			map[string]string{"code": code, "name": `"><script>` + strings.Repeat("x", 200), "login": "marit", "password": "otter hammock lantern"},
			422, map[string]string{"setup-name": "1 to 200"},
		},
	} {
		res, page := send(t, person(t), address+"/setup", c.typed)
		if res.StatusCode != c.status || res.Header.Get("Cache-Control") != "no-store" {
			t.Errorf("%s: status %d, want %d; %q", name, res.StatusCode, c.status, res.Header.Get("Cache-Control"))
		}
		got := problems(t, strings.ReplaceAll(page, `"><script>`, "…"))
		for id, part := range c.wrong {
			if !strings.Contains(got[id], part) {
				t.Errorf("%s: %s says %q, want %q", name, id, got[id], part)
			}
		}
		if len(got) != len(c.wrong) {
			t.Errorf("%s: marked %v", name, got)
		}
		for k, v := range c.typed {
			if kept := strings.Contains(page, `value="`+strings.TrimSpace(v)+`"`); kept != (k != "password") {
				t.Errorf("%s: %s kept on the page: %t", name, k, kept)
			}
		}
		if !strings.Contains(page, "<title>Problem: ") || !strings.Contains(page, `role="alert"`) {
			t.Errorf("%s: the page does not say that something is wrong", name)
		}
	}

	// A page of another site may not send the form.
	right := map[string]string{"code": strings.ToLower(code), "name": " Marit ", "login": "Marit", "password": "otter hammock lantern"}
	if res, _ := send(t, person(t), address+"/setup", right, "Sec-Fetch-Site", "cross-site"); res.StatusCode != http.StatusForbidden {
		t.Errorf("from another site: %d", res.StatusCode)
	}

	marit := person(t)
	res, page := send(t, marit, address+"/setup", right, "Sec-Fetch-Site", "same-origin")
	if res.StatusCode != 200 || res.Request.URL.Path != "/" || !strings.Contains(page, "Signed in as manager") || !strings.Contains(page, "Nothing has been recorded yet") {
		t.Fatalf("set-up: %d at %s: %s", res.StatusCode, res.Request.URL, page)
	}
	for _, c := range marit.Jar.Cookies(mustParse(t, address)) {
		if c.Value == "" {
			t.Error("the cookie is empty")
		}
	}
	// Once is enough: whoever comes later is shown where to sign in, with the login kept.
	res, page = send(t, person(t), address+"/setup", right)
	if res.StatusCode != http.StatusConflict || !strings.Contains(page, "set up already") || !strings.Contains(page, `action="/sign-in"`) || strings.Contains(page, `action="/setup"`) || !strings.Contains(page, `value="marit"`) {
		t.Errorf("a second set-up: %d %s", res.StatusCode, page)
	}
	if res, _ := get(t, person(t), address+"/setup"); res.StatusCode != 200 || res.Request.URL.Path != "/" {
		t.Errorf("the form's address by hand: %d at %s", res.StatusCode, res.Request.URL)
	}
}

func TestSignInAndOutByForm(t *testing.T) {
	address, _, _ := start(t, Config{Dir: t.TempDir(), Demo: true, DemoScale: 0.02})
	who := person(t)
	if _, page := get(t, who, address); !strings.Contains(page, demoPassword) || !strings.Contains(page, `action="/sign-in"`) || strings.Contains(page, `action="/sign-out"`) {
		t.Errorf("before: %s", page)
	}
	for name, c := range map[string]struct {
		login, password string
		status          int
		says            string
	}{
		"wrong password": {"marit", "not the password", 401, "Login and password do not fit together."},
		"no such login":  {"nobody", "not the password", 401, "Login and password do not fit together."},
		"no password":    {"marit", "", 422, "Password: Nothing was given."},
		"no login":       {"", "not the password", 422, "Login: Nothing was given."},
		"long login":     {strings.Repeat("x", 41), "not the password", 422, "at most 40"},
		"long password":  {"marit", strings.Repeat("y", 257), 422, "at most 256"},
	} {
		res, page := send(t, who, address+"/sign-in", map[string]string{"login": c.login, "password": c.password})
		if res.StatusCode != c.status || !strings.Contains(page, c.says) || !strings.Contains(page, `value="`+c.login+`"`) {
			t.Errorf("%s: %d, want %d and %q: %s", name, res.StatusCode, c.status, c.says, page)
		}
		if c.password != "" && strings.Contains(page, c.password) {
			t.Errorf("%s: the password is on the page", name)
		}
		problems(t, page)
	}
	if res, _ := send(t, who, address+"/sign-in", map[string]string{"login": "marit", "password": strings.Repeat("z", 70_000)}); res.StatusCode != http.StatusRequestEntityTooLarge {
		t.Errorf("a form of 70 kB: %d", res.StatusCode)
	}
	res, page := send(t, who, address+"/sign-in", map[string]string{"login": " Marit ", "password": demoPassword})
	if res.StatusCode != 200 || res.Request.URL.Path != "/" || !strings.Contains(page, "Signed in as manager") || strings.Contains(page, `action="/sign-in"`) {
		t.Fatalf("sign-in: %d at %s: %s", res.StatusCode, res.Request.URL, page)
	}
	if res, _ := get(t, who, address+"/api/me"); res.StatusCode != 200 {
		t.Errorf("the session is not the API's: %d", res.StatusCode)
	}
	cookies := who.Jar.Cookies(mustParse(t, address))
	if res, _ := send(t, who, address+"/sign-out", nil, "Sec-Fetch-Site", "cross-site"); res.StatusCode != http.StatusForbidden {
		t.Errorf("signed out by another site: %d", res.StatusCode)
	}
	res, page = send(t, who, address+"/sign-out", nil)
	if res.StatusCode != 200 || res.Request.URL.Path != "/" || strings.Contains(page, "Signed in as") || len(who.Jar.Cookies(mustParse(t, address))) != 0 {
		t.Errorf("sign-out: %d at %s, cookies %v", res.StatusCode, res.Request.URL, who.Jar.Cookies(mustParse(t, address)))
	}
	// The session itself is over, not only its cookie gone.
	who.Jar.SetCookies(mustParse(t, address), cookies)
	if res, _ := get(t, who, address+"/api/me"); res.StatusCode != http.StatusUnauthorized {
		t.Errorf("with the old cookie: %d", res.StatusCode)
	}
	if res, _ := send(t, who, address+"/sign-out", nil); res.StatusCode != 200 || res.Request.URL.Path != "/" {
		t.Errorf("signed out twice: %d at %s", res.StatusCode, res.Request.URL)
	}
}

// TestManagersSeeTheirSums signs in to a programme that is no demo, as two roles: one reads sums, the other does not.
func TestManagersSeeTheirSums(t *testing.T) {
	address, out, _ := start(t, Config{Dir: t.TempDir(), Fresh: true})
	marit := person(t)
	if res, _ := send(t, marit, address+"/setup", map[string]string{"code": codeOn(t, out), "name": "Marit", "login": "marit", "password": "otter hammock lantern"}); res.StatusCode != 200 {
		t.Fatalf("set-up: %d", res.StatusCode)
	}
	_, me := get(t, marit, address+"/api/me")
	id := regexp.MustCompile(`"person":"([^"]+)"`).FindStringSubmatch(me)
	if id == nil {
		t.Fatalf("who she is: %s", me)
	}
	steward := obj{"person": id[1], "login": "ramp", "password": "otter hammock lantern", "role": "steward"}
	if status, text := post(t, marit, address+"/api/accounts", steward); status != http.StatusCreated {
		t.Fatalf("an account: %d %s", status, text)
	}
	const season = "The season by month"
	if _, page := get(t, marit, address); !strings.Contains(page, season) {
		t.Errorf("the manager's page: %s", page)
	}
	if _, page := send(t, person(t), address+"/sign-in", map[string]string{"login": "ramp", "password": "otter hammock lantern"}); strings.Contains(page, season) || !strings.Contains(page, "role steward") {
		t.Errorf("the steward's page: %s", page)
	}
	if _, page := get(t, person(t), address); strings.Contains(page, season) || !strings.Contains(page, "who have signed in") {
		t.Errorf("a stranger's page: %s", page)
	}
}

// TestTooManyTries holds the form to the API's limits: 20 sign-ins at once from one address, 10 with one login.
func TestTooManyTries(t *testing.T) {
	address, _, _ := start(t, Config{Dir: t.TempDir(), Fresh: true})
	typed := map[string]string{"code": "AAAAA", "name": "Marit", "login": "marit", "password": "otter hammock lantern"}
	for i := range 40 {
		res, page := send(t, http.DefaultClient, address+"/setup", typed)
		if res.StatusCode == http.StatusForbidden {
			continue
		}
		if res.StatusCode != http.StatusTooManyRequests || res.Header.Get("Retry-After") == "" || !regexp.MustCompile(`Wait \d+ seconds`).MatchString(page) || !strings.Contains(page, `value="AAAAA"`) {
			t.Errorf("try %d: %d %q %s", i, res.StatusCode, res.Header.Get("Retry-After"), page)
		}
		if i < 20 {
			t.Errorf("try %d was stopped already", i)
		}
		return
	}
	t.Error("40 wrong codes were all looked at")
}
