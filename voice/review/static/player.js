// Hearing a sound: play, pause, slower, and its picture.

import { byId, say } from "./dom.js";
import { get, soundOf } from "./server.js";

const SLOWER = 0.75;
const STEP_S = 1;
/** So much of a sound must have been played for it to count as listened to. */
const NEARLY_ALL = 0.9;

/** One sound at a time; listeners to `heard` get the name of a clip that was played to its end. */
export class Player extends EventTarget {
  constructor() {
    super();
    /** @type {HTMLAudioElement} */
    this.audio = byId("audio");
    /** @type {HTMLCanvasElement} */
    this.canvas = byId("waveform");
    /** @type {HTMLInputElement} */
    this.place = byId("place");
    /** @type {string | null} */
    this.clip = null;
    /** What the picture shows. @type {number[]} */
    this.peaks = [];
    this.pictured_s = 0;
    this.audio.addEventListener("ended", () => {
      // who went to its end with the slider has not heard what lies before
      if (this.played_s < NEARLY_ALL * this.audio.duration) return;
      this.dispatchEvent(new CustomEvent("heard", { detail: this.clip }));
    });
    for (const name of ["play", "pause", "ended", "timeupdate", "durationchange"]) {
      this.audio.addEventListener(name, () => this.tell());
    }
    this.audio.addEventListener("error", () => {
      if (this.clip) this.tellTrouble();
    });
    this.place.addEventListener("input", () => {
      this.audio.currentTime = Number(this.place.value);
    });
    this.canvas.addEventListener("click", (event) => {
      if (!this.pictured_s) return;
      // the picture may be there before the sound, which then begins at this place
      this.audio.currentTime = (event.offsetX / this.canvas.clientWidth) * this.pictured_s;
    });
    byId("play").addEventListener("click", () => this.toggle());
    byId("slower").addEventListener("click", () => this.toggleSlower());
    byId("back").addEventListener("click", () => this.step(-STEP_S));
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.draw());
    new ResizeObserver(() => this.draw()).observe(this.canvas);
  }

  /**
   * Take another sound in hand, without playing it.
   * @param {string | null} clip
   */
  async load(clip) {
    byId("sound").hidden = clip === null;
    byId("no-sound").hidden = clip !== null;
    if (clip === this.clip) return;
    this.audio.pause();
    this.clip = clip;
    this.peaks = [];
    this.pictured_s = 0;
    this.canvas.setAttribute("aria-label", "Picture of the sound, not there yet");
    this.draw();
    if (clip === null) {
      this.audio.removeAttribute("src");
      return;
    }
    this.audio.src = soundOf(clip);
    this.audio.playbackRate = this.rate;
    try {
      const picture = await get(`/data/waveform/${clip}`);
      if (clip !== this.clip) return;
      this.peaks = picture.peaks;
      this.pictured_s = picture.length_s;
      this.canvas.setAttribute("aria-label", `Picture of ${picture.length_s.toFixed(1)} s of sound`);
      this.draw();
    } catch (error) {
      if (clip === this.clip) say(/** @type {Error} */ (error).message, { trouble: true });
    }
  }

  /** The element has no words for what the server said: ask again for the sentence. */
  async tellTrouble() {
    const clip = /** @type {string} */ (this.clip);
    let sentence = "This browser cannot play the sound.";
    try {
      await get(soundOf(clip));
    } catch (error) {
      sentence = /** @type {Error} */ (error).message;
    }
    if (clip === this.clip) say(sentence, { trouble: true });
  }

  /** How much of the sound was played, what was played twice once. */
  get played_s() {
    const { played } = this.audio;
    return Array.from(played, (_, n) => played.end(n) - played.start(n)).reduce((sum, one) => sum + one, 0);
  }

  get slower() {
    return byId("slower").getAttribute("aria-pressed") === "true";
  }

  get rate() {
    return this.slower ? SLOWER : 1;
  }

  async play() {
    if (!this.clip) return;
    this.audio.currentTime = 0;
    this.audio.playbackRate = this.rate;
    await this.audio.play().catch(() => {});
  }

  toggle() {
    if (!this.clip) return;
    if (this.audio.paused) {
      this.audio.playbackRate = this.rate;
      void this.audio.play().catch(() => {});
    } else {
      this.audio.pause();
    }
  }

  toggleSlower() {
    byId("slower").setAttribute("aria-pressed", String(!this.slower));
    this.audio.playbackRate = this.rate;
  }

  /** @param {number} seconds */
  step(seconds) {
    this.audio.currentTime = Math.max(0, this.audio.currentTime + seconds);
  }

  tell() {
    const length = Number.isFinite(this.audio.duration) ? this.audio.duration : 0;
    const at = this.audio.currentTime;
    byId("play").textContent = this.audio.paused ? "Play" : "Pause";
    this.place.max = String(length);
    this.place.value = String(at);
    this.place.setAttribute("aria-valuetext", `${at.toFixed(1)} of ${length.toFixed(1)} seconds`);
    byId("played").textContent = `${at.toFixed(1)} / ${length.toFixed(1)} s`;
    this.draw();
  }

  /** Columns as high as the sound is loud, the loudest as high as there is room. */
  draw() {
    const pixels = devicePixelRatio || 1;
    const width = Math.round(this.canvas.clientWidth * pixels);
    const height = Math.round(this.canvas.clientHeight * pixels);
    if (!width || !height) return;
    this.canvas.width = width;
    this.canvas.height = height;
    const pen = this.canvas.getContext("2d");
    if (!pen) return;
    const style = getComputedStyle(this.canvas);
    const loudest = Math.max(...this.peaks, 0.01);
    const played = this.audio.duration ? this.audio.currentTime / this.audio.duration : 0;
    const column = width / (this.peaks.length || 1);
    this.peaks.forEach((peak, index) => {
      const tall = Math.max((peak / loudest) * height, pixels);
      pen.fillStyle = style.getPropertyValue("--ink");
      pen.globalAlpha = index / this.peaks.length < played ? 1 : 0.55;
      pen.fillRect(index * column, (height - tall) / 2, Math.max(column * 0.7, 1), tall);
    });
    pen.globalAlpha = 1;
    if (played > 0) pen.fillRect(played * width, 0, 2 * pixels, height);
  }
}
