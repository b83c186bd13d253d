"use strict";
// The page around the terminal. The terminal's own script has one socket for ever; behind it stands
// `Line`, which connects again whenever the real one is gone.
(() => {
  const $ = (id) => document.getElementById(id);
  const body = document.body, terminal = $("terminal"), bar = $("bar"), line = $("line");
  const nonce = document.querySelector("meta[name=nonce]").content;
  const KEPT = "drillrunner.prefers";
  const RETRY = [300, 700, 1500, 3000, 5000], PING = 5000, SILENCE = 12000;

  // Style sheets that the terminal's script makes carry the nonce of this page.
  const make = document.createElement.bind(document);
  document.createElement = (name, options) => {
    const element = make(name, options);
    if (String(name).toLowerCase() === "style") element.setAttribute("nonce", nonce);
    return element;
  };

  // ---- the connection ----

  const Real = window.WebSocket;
  let socket = null, tries = 0, timer = 0, heard = 0, stopped = "", size = null, cells = null;
  const told = { open: [], close: [], message: [] };

  const say = (text, gone) => {
    line.textContent = text;
    bar.classList.toggle("gone", Boolean(gone));
  };
  const tell = (kind, event) => told[kind].forEach((hear) => hear(event));
  const send = (...words) => {
    if (!socket || socket.readyState !== Real.OPEN) return false;
    socket.send(JSON.stringify(words));
    return true;
  };
  const kept = () => {
    try { return localStorage.getItem(KEPT); } catch { return null; }
  };

  // Until another look is chosen, it is that of all on the phone.
  const dark = matchMedia("(prefers-color-scheme: dark)");
  const look = () => dark.matches ? "dark" : "light";
  dark.addEventListener("change", () => send("look", look()));

  const connect = () => {
    clearTimeout(timer);
    if (stopped || !size || (socket && socket.readyState < Real.CLOSING)) return;
    const query = new URLSearchParams({
      width: size.width, height: size.height,
      prefers: kept() || "{}", look: look(),
    });
    const url = new URL("socket?" + query, location.href);
    url.protocol = url.protocol.replace("http", "ws");
    const mine = socket = new Real(url);
    mine.binaryType = "arraybuffer";
    mine.onopen = () => { heard = Date.now(); };
    mine.onmessage = (event) => {
      heard = Date.now();
      if (line.textContent) say("");
      tries = 0;
      if (typeof event.data === "string") hear(...JSON.parse(event.data));
      else tell("message", event);
    };
    mine.onclose = (event) => { if (mine === socket) lost(event.code); };
  };

  const lost = (code) => {
    socket = null;
    const ends = {
      4000: "closed: tap here to play on",
      4001: "open elsewhere: tap here to have it here",
    };
    if (ends[code]) { stopped = ends[code]; say(stopped, true); return; }
    if (code === 4003) { location.reload(); return; }
    say(code === 4008 ? "all places are taken: trying again" : "not connected: trying again", true);
    timer = setTimeout(again, code === 4008 ? 10000 : RETRY[Math.min(tries++, RETRY.length - 1)]);
  };

  // Whether the phone may still come in is asked before it tries again.
  const again = async () => {
    try {
      const answer = await fetch("state", { cache: "no-store" });
      if (answer.status === 401) { location.replace("./"); return; }
    } catch { /* still not there */ }
    connect();
  };
  const now = () => { if (!socket && !stopped) { tries = 0; again(); } };
  window.addEventListener("online", now);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) now(); });
  bar.addEventListener("click", (event) => {
    if (event.target !== line || !stopped) return;
    stopped = "";
    now();
  });
  setInterval(() => {
    if (!send("ping", String(Date.now()))) return;
    if (Date.now() - heard > SILENCE) { const old = socket; lost(1006); old.onclose = null; old.close(); }
  }, PING);

  window.WebSocket = class {
    constructor() { this.readyState = Real.OPEN; this.binaryType = "arraybuffer"; }
    addEventListener(kind, hear) {
      told[kind]?.push(hear);
      if (kind === "open") setTimeout(() => hear({}), 0);
    }
    send(text) {
      const [kind, what] = JSON.parse(text);
      if (kind === "resize") { size = cells = what; if (!send(kind, what)) connect(); }
      else if (kind === "stdin") type(what);
      else if (kind !== "ping") send(kind);
    }
    close() {}
  };

  // What is typed while nothing is connected is dropped, and said: a ball that nobody sees kept
  // would be typed once more.
  const type = (text) => {
    if (!send("stdin", text) && !stopped) say("not connected: that was not taken", true);
  };

  // ---- what the app tells the page ----

  const hear = (kind, what) => {
    if (kind === "aloud") $("aloud").textContent = what.text;
    if (kind === "field") field(what);
    if (kind === "prefer") { try { localStorage.setItem(KEPT, JSON.stringify(what)); } catch { /* private */ } }
    if (kind === "look") {
      const style = document.documentElement.style;
      style.setProperty("--ground", what.ground);
      style.setProperty("--figure", what.figure);
      style.setProperty("--key", what.dark ? "#2a2e26" : "#e4e8ec");
      document.querySelector("meta[name=theme-color]").content = what.ground;
    }
  };

  // ---- a field of the page, for what needs letters ----

  const form = $("field"), words = $("words");
  const field = (what) => {
    if (form.hidden === !what.open && $("what").textContent === (what.label || "")) return;
    form.hidden = !what.open;
    if (what.open) {
      $("what").textContent = what.label;
      words.value = what.value;
      words.maxLength = what.longest;
      words.type = what.hidden ? "password" : "text";
      words.focus({ preventScroll: true });
    } else {
      words.blur();
    }
    fit();
  };
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const plain = words.value.replace(/[\u0000-\u001f\u007f-\u009f]/g, " ");
    // To its end, all of it out, the new text in, done.
    type("\x1b[F\x15" + (plain ? "\x1b[200~" + plain + "\x1b[201~" : "") + "\r");
  });

  // ---- fingers ----

  const spot = $("spot");
  let finger = null;
  const place = (touch) => {
    const box = (terminal.querySelector(".xterm-screen") || terminal).getBoundingClientRect();
    const clamp = (value, most) => Math.min(Math.max(Math.floor(value), 0), most - 1) + 1;
    return {
      x: clamp((touch.clientX - box.left) / (box.width / cells.width), cells.width),
      y: clamp((touch.clientY - box.top) / (box.height / cells.height), cells.height),
      cell: box.height / cells.height,
    };
  };
  const mouse = (button, at, end) => type("\x1b[<" + button + ";" + at.x + ";" + at.y + end);
  const SLIDE = 16;

  terminal.addEventListener("touchstart", (event) => {
    event.preventDefault();
    event.stopPropagation();
    if (finger || !cells) return;
    const touch = event.changedTouches[0];
    finger = { id: touch.identifier, from: touch.clientY, last: touch.clientY, at: place(touch), scrolls: false };
    spot.style.transform = "translate(" + touch.clientX + "px," + touch.clientY + "px)";
    spot.classList.add("lit");
    mouse(0, finger.at, "M");
  }, { passive: false, capture: true });

  const mine = (event) => [...event.changedTouches].find((touch) => finger && touch.identifier === finger.id);

  terminal.addEventListener("touchmove", (event) => {
    event.preventDefault();
    event.stopPropagation();
    const touch = mine(event);
    if (!touch) return;
    if (!finger.scrolls && Math.abs(touch.clientY - finger.from) > SLIDE) {
      finger.scrolls = true;
      spot.classList.remove("lit");
      // Let go elsewhere, which is no tap.
      mouse(0, { x: 1, y: 1 }, "m");
    }
    while (finger.scrolls && Math.abs(touch.clientY - finger.last) >= finger.at.cell) {
      const up = touch.clientY < finger.last;
      mouse(up ? 65 : 64, finger.at, "M");
      finger.last += up ? -finger.at.cell : finger.at.cell;
    }
  }, { passive: false, capture: true });

  const lifted = (event) => {
    event.preventDefault();
    event.stopPropagation();
    if (!mine(event)) return;
    // A tap ends where it began: a thumb rolls.
    if (!finger.scrolls) mouse(0, event.type === "touchend" ? finger.at : { x: 1, y: 1 }, "m");
    finger = null;
    setTimeout(() => { if (!finger) spot.classList.remove("lit"); }, 60);
  };
  for (const kind of ["touchend", "touchcancel"]) {
    terminal.addEventListener(kind, lifted, { passive: false, capture: true });
  }
  body.addEventListener("contextmenu", (event) => event.preventDefault());

  // ---- the phone's own keyboard ----

  const keys = $("keys");
  const area = () => terminal.querySelector("textarea");
  keys.addEventListener("click", () => {
    const open = keys.getAttribute("aria-pressed") !== "true", text = area();
    if (!text) return;
    keys.setAttribute("aria-pressed", String(open));
    text.setAttribute("inputmode", open ? "text" : "none");
    text.blur();
    if (open) text.focus({ preventScroll: true });
  });

  // ---- sizes ----

  const view = window.visualViewport;
  const fit = () => {
    if (view) document.documentElement.style.setProperty("--height", view.height + "px");
    scrollTo(0, 0);
    requestAnimationFrame(() => { if (typeof window.onresize === "function") window.onresize(); });
  };
  if (view) view.addEventListener("resize", fit);
  // Forty-one columns on the narrow side of a phone, whichever way it is held.
  const narrow = Math.min(window.innerWidth, window.innerHeight);
  const font = Math.max(11, Math.min(16, Math.floor(narrow / (41 * 0.6) * 2) / 2));
  terminal.dataset.fontSize = String(font);

  // ---- start ----

  const FONT = 3000, FILE = 1500;

  // A slow font keeps nobody out, and a file that did not come is asked for again.
  const start = async () => {
    fit();
    say("opening");
    const font_there = document.fonts.load(font + "px 'Roboto Mono'").catch(() => []);
    await Promise.race([font_there, new Promise((done) => setTimeout(done, FONT))]);
    draw();
  };
  const draw = () => {
    const script = make("script");
    script.src = "static/terminal.js";
    script.onload = () => {
      // It waits for the page's load event, which may have been.
      const begin = window.onload;
      window.onload = null;
      begin(new Event("load"));
      const text = area();
      for (const [name, value] of Object.entries({
        inputmode: "none", autocapitalize: "off", autocorrect: "off", autocomplete: "off", spellcheck: "false",
      })) text?.setAttribute(name, value);
      text?.focus({ preventScroll: true });
    };
    script.onerror = () => {
      script.remove();
      say("not connected: trying again", true);
      setTimeout(draw, FILE);
    };
    document.head.append(script);
  };
  start();
})();
