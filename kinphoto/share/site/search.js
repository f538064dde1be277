// The search: every word has to begin a word of the photograph's names, title, place or years. The words are in
// search-words.js, because a page from a folder may not fetch anything.
"use strict";
const folded = (text) => text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase();
const field = document.getElementById("words");
const results = document.getElementById("results");
const MOST = 200;
const WORDS = {
  one: "1 photograph",
  many: (count) => `${count} photographs`,
  first: (count) => `; the first ${count} are shown`,
};

function search() {
  const asked = folded(field.value).split(/[^\p{L}\p{N}]+/u).filter(Boolean);
  const found = asked.length ? PHOTOGRAPHS.filter((one) => {
    one.folded ??= ` ${folded(one.words).replace(/[^\p{L}\p{N}]+/gu, " ")}`;
    return asked.every((word) => one.folded.includes(` ${word}`));
  }) : [];
  document.getElementById("found").textContent = !asked.length ? "" :
    found.length === 1 ? WORDS.one : WORDS.many(found.length.toLocaleString("en")) +
    (found.length > MOST ? WORDS.first(MOST) : "");
  results.replaceChildren(...found.slice(0, MOST).map(card));
}

function card(one) {
  const item = document.createElement("li"), link = document.createElement("a"), picture = new Image();
  link.href = `photo/${one.code}.html`;
  picture.src = `small/${one.code}.jpg`;
  picture.alt = "";
  picture.loading = "lazy";
  link.append(picture, span("caption", one.label));
  if (one.when) link.append(span("when", one.when));
  item.append(link);
  return item;
}

function span(kind, text) {
  const made = document.createElement("span");
  made.className = kind;
  made.textContent = text;
  return made;
}

field.value = new URLSearchParams(location.search).get("q") ?? "";
field.addEventListener("input", search);
field.form.addEventListener("submit", (event) => { event.preventDefault(); search(); });
search();
