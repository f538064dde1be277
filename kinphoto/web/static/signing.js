// Signing in over the page, for somebody who was signed out while they typed. The form is that of the page *Sign in*.

import { WORDS } from "./words.js";

const fetched = async (...what) => {
  const answer = await fetch(...what).catch(() => null);
  const page = answer && new DOMParser().parseFromString(await answer.text(), "text/html");
  return { answer, page, section: page?.querySelector("section:has([name=password])") };
};

/** Ask for the password until it is right: true then, with a valid token in every form of the page, and false when
 * whoever is asked would rather not. */
export async function signIn() {
  const over = Object.assign(document.createElement("dialog"), { className: "over" });
  const why = Object.assign(document.createElement("p"), { textContent: WORDS.signedOut });
  const later = Object.assign(document.createElement("button"), { type: "button", className: "quiet", textContent: WORDS.later });
  const show = (section) => {
    if (!section) { over.close(); return; }
    const here = document.importNode(section, true);
    here.querySelector("h1").after(why);
    here.querySelector("form").append(later);
    over.replaceChildren(here);
    over.querySelector("[name=password]").focus();
  };
  later.addEventListener("click", () => over.close());
  over.addEventListener("keydown", (event) => event.stopPropagation()); // keys are not the page's now
  document.body.append(over);
  over.showModal();
  const given = await new Promise((resolve) => {
    over.addEventListener("close", () => resolve(false));
    over.addEventListener("submit", async (event) => {
      event.preventDefault();
      event.stopPropagation();
      const { answer, section } = await fetched(event.target.action, { method: "POST", body: new URLSearchParams(new FormData(event.target)) });
      if (answer?.ok && !section) resolve(true);
      else show(section ?? (await fetched("/sign-in")).section);
    });
    fetched("/sign-in").then(({ section }) => show(section));
  });
  over.remove();
  if (!given) return false;
  const token = (await fetched(location.href)).page?.querySelector("input[name=token]")?.value;
  for (const one of token ? document.querySelectorAll("input[name=token]") : []) one.value = token;
  return true;
}
