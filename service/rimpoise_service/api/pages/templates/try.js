// The page to try the service (WORDS stands before this): reads the form, asks the service, shows the sheet, then judges the check spin.
"use strict";
(() => {
const KEPT = "rimpoise-try";
const PATHS = document.body.dataset;
const LANDS = {inside: {side: "inboard", behind_spokes: false, visible: false},
               behind: {side: "outboard", behind_spokes: true, visible: true}};
const SIGNS = {pass: ["good", "✓"], adjust: ["doubt", "!"], recheck_setup: ["doubt", "!"]};
const $ = id => document.getElementById(id);
const fieldsOf = root => [...root.querySelectorAll("input[name], select[name]")];
const ENGLISH = "en-GB";
let language = ENGLISH, heard = "en", planned = null;

function say(key, values = {}) {
  const words = WORDS[language], rides = $("vehicle_class").value === "motorcycle";
  const text = (rides && words[`${key}_rider`]) || words[key];
  return Object.entries(values).reduce((said, [name, value]) => said.replace(`{${name}}`, value), text);
}

// --- what is kept in the browser ---
function kept() {
  try { return JSON.parse(localStorage.getItem(KEPT)) || {}; } catch { return {}; }
}
function keep(change) {
  try { localStorage.setItem(KEPT, JSON.stringify({...kept(), ...change})); } catch { /* a browser that keeps nothing */ }
}
const valuesOf = root => Object.fromEntries(fieldsOf(root).map(field => [field.name, field.value]));
function fill(values) {
  for (const [name, value] of Object.entries(values || {})) if ($(name)) $(name).value = value;
  showWhatApplies();
}

// --- words, and which fields apply ---
const spoken = tag => [tag, tag.slice(0, 2)].find(each => WORDS[each]) || ENGLISH;
function speak(to) {
  language = spoken(to);
  document.documentElement.lang = language;
  $("language").value = language;
  label();
  document.title = say("title");
  keep({language});
}
function label() {
  for (const each of document.querySelectorAll("[data-word]")) each.textContent = say(each.dataset.word);
}
function applies(condition) {
  const [id, wanted] = condition.split("=");
  return wanted === undefined ? $(id).value.trim() !== "" : $(id).value === wanted;
}
function showWhatApplies() {
  for (const each of document.querySelectorAll("[data-when]")) each.hidden = !applies(each.dataset.when);
}
const isShown = field => !field.closest("[hidden]");

// --- reading the form ---
const text = id => $(id).value.trim();
const number = id => text(id) === "" ? undefined : Number(text(id).replace(",", "."));
function nameOf(field) {
  const group = field.closest("fieldset:not(.group)")?.querySelector("legend").textContent.trim();
  const label = document.querySelector(`label[for="${field.id}"]`).textContent.trim();
  return group && group !== label ? `${group}, ${label}` : label;
}
function isMissing(field) {
  const value = field.value.trim(), need = field.dataset.need;
  const mass = $(field.id.replace(/_(angle|valve)$/, "_mass"));
  if (/_(angle|valve)$/.test(field.id) && value === "" && mass && number(mass.id) === 0) return false;
  if (need === "maybe" && value === "") return false;
  if (need === "number" || need === "maybe") return value === "" || !Number.isFinite(Number(value.replace(",", ".")));
  if (need === "clock") return !/^(1[0-2]|[1-9]):[0-5]\d$/.test(value);
  return need === "something" && value === "";
}
const COMPLAINTS = {number: "write_number", maybe: "write_number", clock: "write_clock", something: "write_something"};
function complaints(form) {
  return fieldsOf(form).filter(field => isShown(field) && isMissing(field))
    .map(field => ({field, text: say(COMPLAINTS[field.dataset.need], {field: nameOf(field)})}));
}
function vector(prefix) {
  const mass = number(`${prefix}_mass`);
  if (text("direction") === "valve" && text(`${prefix}_valve`))
    return {mass, valve_at: {kind: "clock", clock: text(`${prefix}_valve`)}};
  return {mass, angle: number(`${prefix}_angle`) ?? 0};
}
const placeOf = id => LANDS[text(id)] ? say(text(id)) : text(id);
function reading(prefix) {
  const one = text("planes") === "one";
  const device = {mass_unit: text("unit"), angle_sense: text("sense"), calls: text("calls"),
                  mass_step: number("step"), label: text("device_label") || undefined};
  return {
    kind: "machine", spun: prefix ? undefined : text("spun"), device,
    shown: one ? {kind: "static", ...vector(`${prefix}static`)}
               : {kind: "planes", inboard: vector(`${prefix}inboard`), outboard: vector(`${prefix}outboard`)},
    set_to: one ? {kind: "place", place: placeOf("static_place")}
                : {kind: "places", inboard: placeOf("inboard_place"), outboard: placeOf("outboard_place")},
  };
}
function lands() {
  const found = Object.keys(LANDS).filter(id => text(`has_${id}`) === "yes");
  return found.map((id, index) => {
    const to = {depth: "position_mm", diameter: "radius_mm", width: "width_mm"};
    for (const [part, name] of Object.entries(to)) $(`${id}_${part}`).dataset.pointer = `/wheel/lands/${index}/${name}`;
    return {...LANDS[id], name: say(id), position_mm: 0 - number(`${id}_depth`), radius_mm: number(`${id}_diameter`) / 2,
            width_mm: number(`${id}_width`)};
  });
}
function wheel() {
  const flange = side => ({present: text(`${side}_flange`) === "yes",
                           thickness_mm: text(`${side}_flange`) === "yes" ? number(`${side}_lip`) : undefined});
  const count = number("spokes");
  return {
    rim_size: text("marking"), material: text("material"), origin: text("origin"), vehicle_class: text("vehicle_class"),
    flanges: {inboard: flange("inner"), outboard: flange("outer")}, lands: lands(),
    spokes: count ? {kind: "even", count, first_deg: number("first_spoke"), width_deg: number("spoke_width")} : undefined,
    valve: number("valve") === undefined ? undefined : {angle_deg: number("valve")},
  };
}
const stock = () => ({kind: "builtin", name: text("stock")});
const planRequest = () => ({
  reading: reading(""), wheel: wheel(), stock: stock(), reference: text("reference") || undefined,
  preferences: {appearance: text("appearance"), styles: text("styles") === "both" ? undefined : [text("styles")]},
});

// --- asking the service ---
class Refused extends Error {
  constructor(status, problem) { super(status); this.status = status; this.problem = problem; }
}
async function ask(path, body, accept) {
  const headers = {"Content-Type": "application/json", "Accept": accept, "Accept-Language": language};
  if ($("key").value) headers.Authorization = `Bearer ${$("key").value}`;
  const response = await fetch(path, {method: "POST", headers, body: JSON.stringify(body)});
  heard = response.headers.get("Content-Language") || "en";
  if (response.ok) return accept === "text/html" ? response.text() : response.json();
  throw new Refused(response.status, await response.json().catch(() => null));
}
function fieldAt(pointer) {
  const path = pointer.replace(/^#/, "");
  return [...document.querySelectorAll("[data-pointer]")]
    .filter(each => isShown(each) && (path === each.dataset.pointer || path.startsWith(`${each.dataset.pointer}/`)))
    .sort((a, b) => b.dataset.pointer.length - a.dataset.pointer.length)[0];
}
function element(name, words, attributes = {}) {
  const made = document.createElement(name);
  made.textContent = words;
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
}
function forget() {
  $("trouble").replaceChildren();
  for (const field of document.querySelectorAll("[aria-invalid]")) field.removeAttribute("aria-invalid");
  for (const each of document.querySelectorAll("span.wrong")) each.textContent = "";
}
function complain(head, items) {
  const list = document.createElement("ul");
  for (const {field, text: words, inPlace = words} of items) {
    const item = document.createElement("li");
    item.append(field ? element("a", words, {href: `#${field.id}`}) : words);
    list.append(item);
    if (!field) continue;
    field.setAttribute("aria-invalid", "true");
    $(`${field.id}-wrong`).textContent = inPlace;
  }
  $("trouble").replaceChildren(element("h2", head), ...(items.length ? [list] : []));
  $("trouble").focus();
  $("trouble").scrollIntoView();
}
function explain(error) {
  if (!(error instanceof Refused)) return complain(say("offline"), []);
  const {status, problem} = error;
  if (status === 401) {
    $("key-field").hidden = false;
    return complain(say("key_wanted"), []);
  }
  if (status !== 400 && status !== 422) {
    const detail = problem?.detail ? [{text: problem.detail}] : [];
    return complain(say("trouble", {status}), detail);
  }
  const errors = problem?.errors?.length ? problem.errors : [{pointer: "", detail: problem?.detail ?? ""}];
  complain(say("refused"), errors.map(each => {
    const field = fieldAt(each.pointer);
    return {field, text: `${field ? nameOf(field) : each.pointer.replace(/^#\//, "")}: ${each.detail}`, inPlace: each.detail};
  }));
}
async function whileBusy(form, work) {
  forget();
  const missing = complaints(form);
  if (missing.length) return complain(say("missing"), missing);
  const button = form.querySelector("button.go"), words = button.firstElementChild;
  button.disabled = true;
  words.textContent = say("busy");
  try { await work(); } catch (error) { explain(error); }
  button.disabled = false;
  words.textContent = say(words.dataset.word);
}

// --- the answers ---
async function showSheet() {
  keep({form: valuesOf($("job"))});
  const request = planRequest();
  const plan = await ask(PATHS.plan, request, "application/json");
  const html = (await ask(PATHS.sheet, request, "text/html")).replace(/<style>[^]*?<\/style>/, "");  // linked above
  const page = new DOMParser().parseFromString(html, "text/html");
  const answer = document.createElement("div");
  answer.lang = page.documentElement.lang;
  for (const part of page.querySelectorAll("body > header, body > main, body > footer")) {
    const block = document.createElement("div");
    block.append(...[...part.childNodes].map(each => document.importNode(each, true)));
    answer.append(block);
  }
  for (const head of answer.querySelectorAll("h1")) head.replaceWith(element("h2", head.textContent));
  $("sheet").replaceChildren(answer);
  planned = {request, pieces: plan.recommended?.pieces ?? []};
  $("spin").hidden = planned.pieces.length === 0;
  $("verdict").replaceChildren();
  $("answer").hidden = false;
  $("answer-head").focus();
  $("answer").scrollIntoView();
}
async function showVerdict() {
  const {request, pieces} = planned;
  const found = await ask(PATHS.check, {
    before: request.reading, after: reading("after_"), wheel: request.wheel, stock: request.stock,
    reclamped: text("reclamped"), fitted: pieces.map(piece => ({...piece, kind: "planned"})),
  }, "application/json");
  const [tone, sign] = SIGNS[found.verdict] ?? ["doubt", "!"];
  const [first, ...others] = found.verdict === "pass" ? [] : found.actions;
  const head = element("p", "", {class: `decision ${tone}`, "data-verdict": found.verdict}), words = element("span", "");
  words.append(element("strong", say(found.verdict)), element("span", first?.text ?? "", {lang: heard}));
  head.append(element("span", sign, {class: "sign", "aria-hidden": "true"}), words);
  const list = document.createElement("ol");
  for (const each of others.slice(0, 3)) list.append(element("li", each.text, {lang: heard}));
  $("verdict").replaceChildren(head, ...(list.children.length ? [element("h3", say("else_do")), list] : []));
  $("verdict").focus();
}

// --- wheels by name ---
function listWheels(chosen = "") {
  const names = Object.keys(kept().wheels || {}).sort();
  $("saved").replaceChildren($("saved").options[0], ...names.map(name => element("option", name, {value: name})));
  $("saved").value = names.includes(chosen) ? chosen : "";
}
function saveWheel() {
  forget();
  const name = text("wheel_name");
  if (!name) return complain(say("missing"), [{field: $("wheel_name"), text: say("write_name", {field: nameOf($("wheel_name"))})}]);
  keep({wheels: {...kept().wheels, [name]: valuesOf($("wheel"))}});
  listWheels(name);
  $("wheel_name-wrong").textContent = say("saved", {name});
}
function deleteWheel() {
  const wheels = {...kept().wheels}, name = $("saved").value;
  if (!name) return;
  delete wheels[name];
  keep({wheels});
  listWheels();
  $("wheel_name-wrong").textContent = say("deleted", {name});
}

document.addEventListener("change", showWhatApplies);
document.addEventListener("input", showWhatApplies);
$("language").addEventListener("change", event => speak(event.target.value));
$("vehicle_class").addEventListener("change", label);
$("saved").addEventListener("change", event => { fill(kept().wheels?.[event.target.value]); label(); });
$("save").addEventListener("click", saveWheel);
$("delete").addEventListener("click", deleteWheel);
$("print").addEventListener("click", () => window.print());
$("job").addEventListener("submit", event => { event.preventDefault(); whileBusy(event.target, showSheet); });
$("spin").addEventListener("submit", event => { event.preventDefault(); whileBusy(event.target, showVerdict); });
fill(kept().form);
listWheels();
speak(kept().language || navigator.language);
document.body.dataset.ready = "yes";
})();
