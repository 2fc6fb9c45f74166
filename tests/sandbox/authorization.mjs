// An authorization server for the invented record system: `oidc-provider` with SMART App Launch 2.2 scopes, and the
// patient in the token's answer. It lets in whoever presses the button: it is a sandbox, and nobody in it is real.
//
// node authorization.mjs '{"port": 8091, "fhir": ..., "redirects": [...], "patients": [[id, name], ...], "kinds": [...]}'
import http from "node:http";
import path from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

const here = path.dirname(fileURLToPath(import.meta.url));
const modules = path.join(here, "..", "conformance", "node_modules");
const { Provider, errors } = await import(pathToFileURL(path.join(modules, "oidc-provider", "lib", "index.js")));

const given = JSON.parse(process.argv[2]);
const issuer = `http://127.0.0.1:${given.port}`;
const scopes = given.kinds.map((kind) => `patient/${kind}.rs`);
/** Which patient each grant is for. */
const chosen = new Map();

const isKnown = (patient) => given.patients.some(([id]) => id === patient);
/** A launch names its patient: what the record system hands over is a name of ours, not a secret. */
const launched = (launch) => (launch && isKnown(launch.replace(/^launch-/, "")) ? launch.replace(/^launch-/, "") : null);

const provider = new Provider(issuer, {
  clients: [{
    client_id: "weatherglass", token_endpoint_auth_method: "none", grant_types: ["authorization_code"],
    response_types: ["code"], redirect_uris: given.redirects, application_type: "web",
  }],
  clientBasedCORS: () => true,
  cookies: { keys: ["of the sandbox"] },
  scopes: ["openid", "launch", "launch/patient"],
  extraParams: {
    launch: null,
    aud(_, value) {
      if (value !== undefined && value.replace(/\/$/, "") !== given.fhir) throw new errors.InvalidRequest("aud is not the address of this record system");
    },
  },
  features: {
    devInteractions: { enabled: false },
    resourceIndicators: {
      enabled: true,
      defaultResource: () => given.fhir,
      useGrantedResource: () => true,
      getResourceServerInfo: () => ({ audience: given.fhir, scope: scopes.join(" "), accessTokenFormat: "jwt", accessTokenTTL: given.seconds ?? 600 }),
    },
  },
  extraTokenClaims: (_, token) => ({ patient: chosen.get(token.grantId) }),
  findAccount: (_, id) => ({ accountId: id, claims: () => ({ sub: id }) }),
  interactions: { url: (_, interaction) => `/sign-in/${interaction.uid}` },
  ttl: { AccessToken: given.seconds ?? 600, Grant: 3600, Session: 3600, Interaction: 600, IdToken: 600 },
});

// SMART App Launch 2.2, "Launch context arrives with your access token".
provider.use(async (context, next) => {
  await next();
  if (context.oidc?.route === "token" && context.status === 200) {
    const patient = chosen.get(context.oidc.entities.AccessToken?.grantId);
    context.body = { ...context.body, patient, need_patient_banner: true };
  }
});

const escaped = (text) => String(text).replace(/[&<>"]/g, (sign) => `&#${sign.charCodeAt(0)};`);

function asking(interaction) {
  const fixed = launched(interaction.params.launch);
  const choice = given.patients.map(([id, name]) => `<option value="${escaped(id)}"${id === fixed ? " selected" : ""}>${escaped(name)}</option>`).join("");
  return `<!doctype html><html lang="en"><meta charset="utf-8"><title>Sign in to the invented record system</title>
<body style="font: 1.1rem/1.5 sans-serif; max-width: 34rem; margin: 3rem auto">
<h1>The invented record system</h1><form method="post">
<p>You sign in as the invented Dr Merle Quist.</p>
<p>${fixed ? `The record that was open: ${escaped(given.patients.find(([id]) => id === fixed)[1])}.` : `<label>Patient <select name="patient">${choice}</select></label>`}</p>
<p><button name="answer" value="yes">Sign in and let the page read this record</button> <button name="answer" value="no">Cancel</button></p></form>`;
}

async function body(request) {
  let text = "";
  for await (const piece of request) text += piece;
  return new URLSearchParams(text);
}

async function signIn(request, response) {
  const interaction = await provider.interactionDetails(request, response);
  if (request.method !== "POST") {
    response.setHeader("Content-Type", "text/html; charset=utf-8");
    response.end(asking(interaction));
    return;
  }
  const answer = await body(request);
  const patient = launched(interaction.params.launch) ?? answer.get("patient");
  if (answer.get("answer") !== "yes" || !isKnown(patient)) {
    await provider.interactionFinished(request, response, { error: "access_denied", error_description: "cancelled by the reader" });
    return;
  }
  const grant = new provider.Grant({ accountId: "quist", clientId: interaction.params.client_id });
  const asked = interaction.params.scope.split(" ");
  grant.addOIDCScope(asked.filter((one) => !one.startsWith("patient/")).join(" "));
  grant.addResourceScope(given.fhir, asked.filter((one) => scopes.includes(one) && !(given.withheld ?? []).includes(one)).join(" "));
  grant.rejectResourceScope(given.fhir, asked.filter((one) => (given.withheld ?? []).includes(one)).join(" "));
  const grantId = await grant.save();
  chosen.set(grantId, patient);
  await provider.interactionFinished(request, response, { login: { accountId: "quist", remember: false }, consent: { grantId } });
}

const answerAll = provider.callback();
http.createServer((request, response) => {
  if (request.url === "/favicon.ico") {
    response.writeHead(204).end(); // A browser asks for it by itself; its absence is nobody's fault.
    return;
  }
  if (!request.url.startsWith("/sign-in/")) {
    answerAll(request, response);
    return;
  }
  signIn(request, response).catch((error) => {
    response.statusCode = 400;
    response.end(error.message);
  });
}).listen(given.port, "127.0.0.1", () => console.log("ready"));
