"use strict";
(() => {
  const words = document.body.dataset;
  const main = document.querySelector("main");
  const make = (name, properties) => Object.assign(document.createElement(name), properties);

  // ---------------------------------------------------------------- numbers as they are written
  const comma = new Intl.NumberFormat(document.documentElement.lang)
    .formatToParts(1.5).some((part) => part.value === ",");
  const raised = "⁰¹²³⁴⁵⁶⁷⁸⁹";
  const number = (text) => {
    let plain = text.trim().replace(/\u2212/g, "-");
    const bound = "<>".indexOf(plain[0]);
    if (bound >= 0) plain = plain.slice(1).trim();
    if (comma) plain = plain.replace(/\.(?=\d{3})/g, "").replace(",", ".");
    const found = plain.match(/^([-+]?\d+(?:\.\d+)?)(?:×10([⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+))?/);
    if (!found) return null;
    const power = [...(found[2] || "")]
      .map((c) => (c === "⁻" ? "-" : raised.indexOf(c))).join("");
    const value = Number(found[1]) * 10 ** Number(power);
    // "<0.001" comes before 0.001.
    return bound < 0 ? value : value + (bound === 0 ? -1e-12 : 1e-12);
  };

  // ---------------------------------------------------------------- sorting
  const sortable = (table) => {
    const body = table.tBodies[0];
    const asWritten = [...body.rows];
    const heads = [...table.tHead.rows[0].cells];
    const sort = (column) => {
      const was = heads[column].getAttribute("aria-sort");
      const now = { none: "ascending", ascending: "descending", descending: "none" }[was];
      heads.forEach((head) => head.hasAttribute("aria-sort") && head.setAttribute("aria-sort", "none"));
      heads[column].setAttribute("aria-sort", now);
      let rows = asWritten;
      if (now !== "none") {
        const text = (row) => row.cells[column].textContent.trim();
        const filled = asWritten.filter((row) => text(row) !== "");
        const empty = asWritten.filter((row) => text(row) === "");
        const numbers = filled.every((row) => number(text(row)) !== null);
        const order = numbers
          ? (a, b) => number(text(a)) - number(text(b))
          : (a, b) => text(a).localeCompare(text(b), document.documentElement.lang, { numeric: true });
        filled.sort(now === "ascending" ? order : (a, b) => order(b, a));
        rows = [...filled, ...empty];
      }
      body.append(...rows);
    };
    heads.forEach((head, column) => {
      if (head.tagName !== "TH") return;
      const button = make("button", { type: "button" });
      button.append(...head.childNodes);
      button.addEventListener("click", () => sort(column));
      head.append(button);
      head.setAttribute("aria-sort", "none");
    });
  };

  // ---------------------------------------------------------------- copying
  const heard = make("p", { className: "heard" });
  heard.setAttribute("role", "status");
  main.append(heard);
  const csv = (table) => [...table.rows].map((row) => [...row.cells].map((cell) => {
    const text = cell.textContent.trim().replace(/^\u2212(?=\d)/, "-");
    return /[",\n]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text;
  }).join(",")).join("\r\n") + "\r\n";
  const byHand = (text) => {
    const box = make("dialog", {});
    const label = make("label", { textContent: words.byHand });
    const area = make("textarea", { value: text, readOnly: true });
    const close = make("button", { type: "button", textContent: words.close });
    label.append(area);
    box.append(label, close);
    close.addEventListener("click", () => box.close());
    box.addEventListener("close", () => box.remove());
    main.append(box);
    box.showModal();
    area.select();
  };
  const old = (text) => {
    const area = make("textarea", { value: text, className: "heard" });
    main.append(area);
    area.select();
    let done = false;
    try { done = document.execCommand("copy"); } catch { done = false; }
    area.remove();
    return done;
  };
  const copy = async (text) => {
    try {
      await navigator.clipboard.writeText(text);
      return true;
    } catch {
      return old(text);
    }
  };
  const copyable = (table) => {
    const button = make("button", { type: "button", textContent: words.copy });
    const title = table.caption || table.tHead;
    if (title && title.id) button.setAttribute("aria-describedby", title.id);
    button.addEventListener("click", async () => {
      const text = csv(table);
      if (await copy(text)) {
        button.textContent = words.copied;
        heard.textContent = words.copied;
        setTimeout(() => { button.textContent = words.copy; heard.textContent = ""; }, 2000);
        button.focus();
      } else {
        byHand(text);
      }
    });
    table.closest(".table").querySelector(".tools").prepend(button);
  };
  for (const table of document.querySelectorAll("table")) {
    if (!("fixed" in table.dataset)) sortable(table);
    copyable(table);
  }

  // ---------------------------------------------------------------- values under the pointer
  const tip = make("div", { className: "tip", hidden: true });
  tip.setAttribute("aria-hidden", "true");
  main.append(tip);
  const spoken = (target) => {
    const mark = target instanceof Element ? target.closest("svg.drawing g") : null;
    if (!mark) return "";
    const title = mark.querySelector(":scope > title");
    // Taken over from the browser's own, slower display.
    if (title) { mark.dataset.tip = title.textContent; title.remove(); }
    return mark.dataset.tip || "";
  };
  const show = (event) => {
    const text = spoken(event.target);
    tip.hidden = !text;
    if (!text) return;
    tip.textContent = text;
    const room = 12;
    const left = Math.min(event.clientX + room, innerWidth - tip.offsetWidth - room);
    const above = event.clientY - tip.offsetHeight - room;
    tip.style.left = `${Math.max(room, left)}px`;
    tip.style.top = `${above < 0 ? event.clientY + 2 * room : above}px`;
  };
  document.addEventListener("pointerover", show);
  addEventListener("scroll", () => { tip.hidden = true; }, { passive: true });
  addEventListener("keydown", (event) => { if (event.key === "Escape") tip.hidden = true; });

  // ---------------------------------------------------------------- boxes and contents
  // A box that holds all it has need not be a stop for the keyboard.
  const boxes = [...document.querySelectorAll(".scroll")];
  const stops = () => {
    const wide = boxes.map((box) => box.scrollWidth > box.clientWidth);
    boxes.forEach((box, i) => {
      box.classList.toggle("wide", wide[i]);
      if (wide[i]) box.tabIndex = 0; else box.removeAttribute("tabindex");
    });
  };
  stops();
  addEventListener("resize", stops);
  const contents = document.querySelector("nav details");
  if (contents && matchMedia("(max-width: 76rem)").matches) contents.open = false;
})();
