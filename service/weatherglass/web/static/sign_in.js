/* Signing in at a record system as a public client: SMART App Launch 2.2, authorization code with PKCE (RFC 7636).
   What a sign-in needs to come back stands in this tab's session storage until then, and never a token. */
"use strict";

Weatherglass.signIn = (() => {
  const PENDING = "weatherglass-sign-in";
  const LONGEST = 10 * 60 * 1000;
  const FHIR_ID = /^(?!\.{1,2}$)[A-Za-z0-9\-.]{1,64}$/;
  const bare = (address) => address.replace(/\/+$/, "");
  const letters = (bytes) => btoa(String.fromCharCode(...bytes)).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");
  const random = () => letters(crypto.getRandomValues(new Uint8Array(32)));
  const hashed = async (text) => letters(new Uint8Array(await crypto.subtle.digest("SHA-256", new TextEncoder().encode(text))));
  const backAddress = (settings) => `${location.origin}${settings.back}`;

  /** Ask an address of a record system; redirects are not followed, so that nothing is sent to anybody else. */
  async function ask(address, what, options) {
    try {
      return await fetch(address, { credentials: "omit", redirect: "error", cache: "no-store", ...options });
    } catch (error) {
      if (error.name === "AbortError") throw error;
      throw new Error(`The record system does not answer this page (${what}).`);
    }
  }

  async function object(answer, what) {
    try {
      const read = await answer.json();
      if (read && typeof read === "object") return read;
    } catch (error) {
      if (error.name === "AbortError") throw error;
    }
    throw new Error(`The record system's answer cannot be read (${what}).`);
  }

  function serverOf(settings, base) {
    const found = settings.servers.find(([known]) => known === bare(base || ""));
    if (!found) throw new Error("This record system is not on the list of those whose records are opened here.");
    return { base: found[0], client: found[1] };
  }

  /** An address that people sign in at is of the record system itself or of an origin that the site has named. */
  function trusted(settings, base, address) {
    let origin;
    try {
      ({ origin } = new URL(address));
    } catch {
      throw new Error("The record system does not say where to sign in.");
    }
    const known = [base, ...settings.origins].map((one) => new URL(one).origin);
    if (!known.includes(origin)) throw new Error("The record system lets people sign in at an address that is not on the list of this service.");
    return address;
  }

  /** What a record system says about signing in, as far as it is needed. */
  async function described(settings, base, signal) {
    const what = "how to sign in";
    const answer = await ask(`${base}/.well-known/smart-configuration`, what, { signal, headers: { Accept: "application/json" } });
    if (!answer.ok) throw new Error(`The record system does not say how to sign in (it answered ${answer.status}).`);
    const said = await object(answer, what);
    const methods = said.code_challenge_methods_supported;
    if (!Array.isArray(methods) || !methods.includes("S256")) throw new Error("The record system's sign-in is not protected as SMART App Launch 2 demands (PKCE with S256).");
    return {
      authorize: trusted(settings, base, said.authorization_endpoint),
      token: trusted(settings, base, said.token_endpoint),
      issuer: typeof said.issuer === "string" ? said.issuer : null,
      isSecond: Array.isArray(said.capabilities) && said.capabilities.includes("permission-v2"),
    };
  }

  function scopesOf(settings, launch, isSecond) {
    const reading = settings.types.map((kind) => `patient/${kind}.${isSecond ? "rs" : "read"}`);
    return [launch ? "launch" : "launch/patient", ...(settings.scopes.length ? settings.scopes : reading)];
  }

  /**
   * Leave for the sign-in of a record system.
   * @param base its FHIR base address, as it named itself or as a reader chose it
   * @param launch what it named this launch by; null when a reader starts here and chooses the patient there
   */
  async function begin(settings, base, launch, signal) {
    if (!crypto.subtle) throw new Error("Signing in needs this page to be opened by https.");
    const server = serverOf(settings, base);
    const said = await described(settings, server.base, signal);
    const scopes = scopesOf(settings, launch, said.isSecond);
    const begun = { ...server, state: random(), verifier: random(), nonce: random(), token: said.token, issuer: said.issuer, isNamed: scopes.includes("openid"), at: Date.now() };
    const address = new URL(said.authorize);
    const asked = {
      response_type: "code", client_id: server.client, redirect_uri: backAddress(settings), scope: scopes.join(" "),
      state: begun.state, aud: base, code_challenge: await hashed(begun.verifier), code_challenge_method: "S256",
    };
    if (launch) asked.launch = launch;
    if (begun.isNamed) asked.nonce = begun.nonce;
    for (const [name, value] of Object.entries(asked)) address.searchParams.set(name, value);
    sessionStorage.setItem(PENDING, JSON.stringify(begun));
    location.assign(address);
  }

  /** What was begun in this tab; it is used once. */
  function begunHere() {
    const text = sessionStorage.getItem(PENDING);
    sessionStorage.removeItem(PENDING);
    return text === null ? null : JSON.parse(text);
  }

  /**
   * Finish what was begun, with what the address says on the way back.
   * @returns base address, patient's id, token, the scopes granted (null: as asked) and when it ends
   */
  async function finish(settings, query, signal) {
    const begun = begunHere();
    if (!begun || begun.state !== query.get("state") || Date.now() - begun.at > LONGEST) {
      throw new Error("This sign-in was not begun in this tab, or too long ago. Open the record again.");
    }
    // RFC 9207: an answer of another server must not be taken to this one.
    if (begun.issuer !== null && query.has("iss") && query.get("iss") !== begun.issuer) throw new Error("The answer is of another sign-in than the one begun. Open the record again.");
    if (query.has("error") || !query.get("code")) throw new Error(query.get("error") === "access_denied" ? "The sign-in was cancelled, or the record system does not allow it." : "The record system did not sign you in.");
    const server = serverOf(settings, begun.base);
    const form = new URLSearchParams({ grant_type: "authorization_code", code: query.get("code"), redirect_uri: backAddress(settings), code_verifier: begun.verifier, client_id: server.client });
    const answer = await ask(trusted(settings, server.base, begun.token), "signing in", { method: "POST", body: form, signal, headers: { Accept: "application/json" } });
    if (!answer.ok) throw new Error(`The record system did not sign you in (it answered ${answer.status}).`);
    const given = await object(answer, "signing in");
    check(given, begun);
    return {
      base: server.base, patient: given.patient, token: given.access_token,
      scopes: typeof given.scope === "string" ? given.scope.split(" ") : null,
      ends: Date.now() + 1000 * (Number(given.expires_in) || 300),
    };
  }

  function check(given, begun) {
    if (typeof given.access_token !== "string" || String(given.token_type).toLowerCase() !== "bearer") throw new Error("The record system's answer to the sign-in cannot be used.");
    if (typeof given.patient !== "string" || !FHIR_ID.test(given.patient)) throw new Error("No patient was chosen in the record system, so no record was opened.");
    if (begun.isNamed) checkName(given.id_token, begun);
  }

  /** OpenID Connect Core 3.1.3.7: it came straight from the token endpoint, so that its signature need not be checked. */
  function checkName(token, begun) {
    let claims = {};
    try {
      claims = JSON.parse(atob(token.split(".")[1].replace(/-/g, "+").replace(/_/g, "/")));
    } catch { /* Said below. */ }
    const isForUs = [claims.aud].flat().includes(begun.client);
    if (claims.nonce !== begun.nonce || !isForUs || claims.iss !== begun.issuer) throw new Error("The answer is of another sign-in than the one begun. Open the record again.");
  }

  return { ask, begin, finish };
})();
