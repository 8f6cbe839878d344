/* One dialog that asks who and why before an act changes what the figures rest on, and that
   waits for the recorder's answer: taken, refused with its reason, or not yet. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const dialog = (hookLoad.dialog = {});
  const NAME_KEY = "hook-load-name";
  let parts = null;
  let asked = null; // what is being asked now
  let round = 0; // an answer to an older question is not shown

  const part = (name, className, text) => {
    const element = document.createElement(name);
    if (className) element.className = className;
    if (text !== undefined) element.textContent = text;
    return element;
  };

  const button = (className, text, act) => {
    const element = part("button", `button ${className}`, text);
    element.type = "button";
    element.addEventListener("click", act);
    return element;
  };

  const field = (className, label) => {
    const holder = part("label", `field ${className}`);
    const input = part("input");
    input.type = "text";
    input.autocomplete = "off";
    input.maxLength = 200;
    holder.append(part("span", "soft", label), input);
    input.addEventListener("input", refresh);
    return { holder, input };
  };

  /* A text of many lines: written, pasted, or taken from a file. */
  const area = (className) => {
    const holder = part("label", `field ${className}`);
    const input = part("textarea");
    const file = part("input");
    input.rows = 8;
    input.spellcheck = false;
    file.type = "file";
    file.accept = ".csv,.txt,text/plain,text/csv";
    file.setAttribute("aria-label", "Take it from a file");
    file.addEventListener("change", async () => {
      if (file.files.length === 0) return;
      input.value = await file.files[0].text();
      file.value = "";
      refresh();
    });
    input.addEventListener("input", refresh);
    holder.append(part("span", "soft"), input, file);
    return { holder, input };
  };

  const kept = () => {
    try {
      return window.localStorage.getItem(NAME_KEY) || "";
    } catch (error) {
      if (error instanceof DOMException) return ""; // storage is not allowed here
      throw error;
    }
  };

  const keep = (name) => {
    try {
      window.localStorage.setItem(NAME_KEY, name);
    } catch (error) {
      if (!(error instanceof DOMException)) throw error;
    }
  };

  const build = () => {
    const box = part("dialog", "dialog");
    const number = field("dialog-number", "Lines");
    number.input.inputMode = "numeric";
    const count = part("div", "dialog-count");
    count.append(
      button("dialog-fewer", "\u2212 2", () => step(-2)), number.holder,
      button("dialog-more", "+ 2", () => step(2))
    );
    parts = {
      box, count, number: number.input,
      choices: part("div", "dialog-choices"),
      title: part("h2"), words: part("p"), told: part("div", "dialog-told"),
      amount: field("dialog-amount", ""),
      paste: area("dialog-paste"),
      reason: field("dialog-reason", "Reason"), who: field("dialog-who", "Your name"),
      back: button("dialog-back", "Back", () => box.close()),
      override: button("dialog-override", "Engineer's override", () => send(true)),
      confirm: button("dialog-confirm", "Confirm", () => send(false)),
    };
    parts.told.setAttribute("role", "status");
    parts.title.id = "hoist-dialog-title";
    box.setAttribute("aria-labelledby", "hoist-dialog-title");
    const buttons = part("div", "dialog-buttons");
    buttons.append(parts.back, parts.override, parts.confirm);
    box.append(
      parts.title, parts.words, count, parts.choices, parts.amount.holder, parts.paste.holder,
      parts.reason.holder, parts.who.holder, parts.told, buttons
    );
    box.addEventListener("keydown", (event) => {
      if (event.key === "Enter" && event.target.tagName === "INPUT" && !parts.confirm.disabled) {
        event.preventDefault();
        send(false);
      }
    });
    box.addEventListener("close", () => (round += 1));
    document.body.append(box);
  };

  const step = (by) => {
    const now = Number.parseInt(parts.number.value, 10);
    parts.number.value = Math.max(2, (Number.isNaN(now) ? asked.lines : now) + by);
    refresh();
  };

  const values = () => ({
    number: parts.number.value.trim(),
    amount: parts.amount.input.value.trim(),
    pasted: parts.paste.input.value.trim(),
    choice: asked.choice || "",
    reason: parts.reason.input.value.trim(),
    who: parts.who.input.value.trim(),
  });

  /* What is still lacking, in words; "" when the act may be sent. */
  const lacking = () => {
    const given = values();
    if (asked.lines !== undefined) {
      if (!/^\d+$/.test(given.number)) return "A whole number of lines, please";
      if (Number(given.number) === asked.lines) return "Choose another number of lines";
    }
    if (asked.choices && !given.choice) return "Choose one";
    if (asked.amountNeeded && !given.amount) return `${asked.amount}, please`;
    if (asked.paste && !given.pasted) return `${asked.paste}, please`;
    if (asked.reason && !given.reason) return "A reason, please: it goes into the journal";
    if (!given.who) return "Your name, please: it goes into the journal";
    return "";
  };

  const refresh = () => {
    if (asked === null) return;
    const lack = lacking();
    parts.confirm.disabled = lack !== "" || asked.busy === true;
    parts.override.disabled = parts.confirm.disabled;
    parts.confirm.textContent = asked.confirm(values());
    if (!asked.busy && !asked.answered) tell(lack, "");
  };

  const tell = (words, kind) => {
    parts.told.className = `dialog-told ${kind}`;
    parts.told.textContent = words;
  };

  const choose = (words) => {
    asked.choice = words;
    for (const one of parts.choices.children) {
      const on = one.dataset.choice === words;
      one.classList.toggle("chosen", on);
      one.setAttribute("aria-pressed", on);
    }
    refresh();
  };

  const offer = (choices) => {
    const buttons = (choices || []).map((words) => {
      const one = button("", words, () => choose(words));
      one.dataset.choice = words;
      one.setAttribute("aria-pressed", "false");
      return one;
    });
    parts.choices.replaceChildren(...buttons);
    parts.choices.hidden = buttons.length === 0;
  };

  /* ask: title, words, confirm(values), act(values, override), done; and where wanted: lines
     (now strung), choices and the chosen one, amount (its label), amountValue and amountNeeded,
     paste (label of a text of many lines, or of a file of it), reason. */
  dialog.ask = (question) => {
    if (parts === null) build();
    round += 1;
    asked = { ...question, busy: false, answered: false };
    parts.title.textContent = question.title;
    parts.words.textContent = question.words;
    parts.number.value = question.lines === undefined ? "" : question.lines;
    parts.reason.input.value = "";
    parts.amount.input.value = question.amountValue || "";
    parts.amount.holder.firstChild.textContent = question.amount || "";
    offer(question.choices);
    if (question.chosen) choose(question.chosen);
    parts.who.input.value = kept();
    parts.count.hidden = question.lines === undefined;
    parts.amount.holder.hidden = !question.amount;
    parts.paste.input.value = "";
    parts.paste.holder.firstChild.textContent = question.paste || "";
    parts.paste.holder.hidden = !question.paste;
    parts.reason.holder.hidden = !question.reason;
    parts.override.hidden = true;
    refresh();
    if (!parts.box.open) parts.box.showModal();
  };

  const send = async (override) => {
    const mine = round;
    const question = asked;
    const current = () => mine === round && asked === question;
    keep(values().who);
    question.busy = true;
    parts.override.hidden = true;
    refresh();
    tell("Sent; waiting for the recorder \u2026", "");
    const given = { ...question.act(values(), override), who: values().who };
    const told = await (question.send || hookLoad.acts.send)(given);
    const answer = told.error ? { error: told.error } : await hookLoad.acts.became(told, current);
    if (!current()) return;
    question.busy = false;
    question.answered = true;
    refresh();
    if (answer.error) tell(`Not taken: ${answer.error}`, "refused");
    else if (answer.refused) refused(question, answer.refused);
    else if (!answer.taken) {
      tell("Left for the recorder, which has not taken it yet: see that it runs", "refused");
      if (question.then) question.then();
    } else {
      parts.box.close();
      hookLoad.acts.say(question.done);
      if (question.after) question.after();
      if (question.then) question.then();
    }
  };

  const refused = (question, why) => {
    tell(/refused/.test(why) ? why : `Refused: ${why}`, "refused");
    // Sheaves that are not there cannot be overridden: the recorder says what can.
    parts.override.hidden = !question.reason || !/may override/.test(why);
  };
})();
