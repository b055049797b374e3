// A MIDI keyboard or another controller as it plays the keys: note on and off, velocity, bend, the sustain pedal, and
// MPE, where each note has a channel and so a bend of its own (MIDI Polyphonic Expression, MIDI Manufacturers Association
// 2018: zones, the manager's channel, and bends of 48 semitones for members).

const CHANNELS = 16;
const LOWER_MANAGER = 0, UPPER_MANAGER = 15;
const USUAL_BEND = 2, MEMBER_BEND = 48;  // semitones either way
const BEND_RANGE = 0, ZONE = 6;  // registered parameters
const SUSTAIN = 64, ALL_SOUND_OFF = 120, ALL_NOTES_OFF = 123;
const DATA_COARSE = 6, DATA_FINE = 38, PARAMETER_FINE = 100, PARAMETER_COARSE = 101;

export class MidiInput {
  // `maps` are the ways of playing that Python worked out: the steps of the 128 keys, or none for MPE, which comes last;
  // `switched` is told if a controller asks for that itself.
  constructor(hands, scale, maps, switched) {
    Object.assign(this, {hands, scale, maps, map: maps[0], switched});
    this.channels = Array.from({length: CHANNELS}, () => ({bend: 0, range: USUAL_BEND, pedal: false, parameter: -1}));
    this.kept = new Set();  // notes that only the pedal holds
    this.down = new Map();  // by channel and key: where it began
    this.members = [];
  }

  get free() { return !this.map.steps.length; }

  async open(told) {
    if (!navigator.requestMIDIAccess) { return told("This browser has no MIDI."); }
    try {
      this.access ??= await navigator.requestMIDIAccess();
    } catch (error) {
      return told(`MIDI was refused (${error.name}).`);
    }
    const attach = () => {
      const inputs = [...this.access.inputs.values()];
      inputs.forEach(input => { input.onmidimessage = ({data}) => this.hear(data); });
      told(inputs.length ? `Plays: ${inputs.map(input => input.name).join(", ")}` : "No MIDI keyboard is connected.");
    };
    this.access.onstatechange = attach;
    attach();
  }

  close() {
    if (!this.access) { return; }
    this.access.onstatechange = null;
    this.access.inputs.forEach(input => { input.onmidimessage = null; });
  }

  choose(place) {
    this.letGo();
    this.map = this.maps[place];
    if (this.free && !this.members.length) { this.setZone(LOWER_MANAGER, CHANNELS - 1); }
  }

  hear([status, first, second = 0]) {
    const channel = status & 0x0f, kind = status & 0xf0;
    if (kind === 0x90 && second) { this.on(channel, first, second / 127); }
    else if (kind === 0x80 || kind === 0x90) { this.off(channel, first); }
    else if (kind === 0xe0) { this.bend(channel, ((first | (second << 7)) - 8192) / 8192); }
    else if (kind === 0xb0) { this.control(channel, first, second); }
  }

  on(channel, key, velocity) {
    const who = `midi ${channel} ${key}`;
    this.kept.delete(who);
    this.down.set(who, {channel, key});
    const {step, away} = this.pitch(channel, key);
    this.hands.press(who, step, velocity, away);
  }

  off(channel, key) {
    const who = `midi ${channel} ${key}`;
    if (!this.down.has(who)) { return; }  // it went down before it was heard here, or has been let go since
    if (this.pedalOf(channel)) { this.kept.add(who); } else { this.end(who); }
  }

  end(who) {
    this.kept.delete(who);
    this.down.delete(who);
    this.hands.release(who);
  }

  letGo() { [...this.down.keys()].forEach(who => this.end(who)); }

  // What a key sounds: a step by the chosen way and the bend beside it or, with MPE, its own pitch and bend.
  pitch(channel, key) {
    const semitones = this.semitones(channel);
    if (!this.free) { return {step: this.map.steps[key], away: 100 * semitones}; }
    return this.scale.nearest(440 * 2 ** ((key + semitones - 69) / 12));
  }

  semitones(channel) {
    const own = ({bend, range}) => bend * range, manager = this.managerOf(channel);
    return own(this.channels[channel]) + (manager === undefined ? 0 : own(this.channels[manager]));
  }

  managerOf(channel) { return this.free ? this.members.find(zone => zone.channels.includes(channel))?.manager : undefined; }

  pedalOf(channel) {
    const manager = this.managerOf(channel);
    return this.channels[channel].pedal || (manager !== undefined && this.channels[manager].pedal);
  }

  bend(channel, value) {
    this.channels[channel].bend = value;
    for (const [who, note] of this.down) {
      if (note.channel !== channel && this.managerOf(note.channel) !== channel) { continue; }
      const {step, away} = this.pitch(note.channel, note.key);
      this.hands.bend(who, step, away);
    }
  }

  control(channel, control, value) {
    const of = this.channels[channel];
    if (control === SUSTAIN) {
      of.pedal = value >= 64;
      for (const who of this.kept) { if (!this.pedalOf(this.down.get(who).channel)) { this.end(who); } }
    } else if (control === ALL_SOUND_OFF || control === ALL_NOTES_OFF) {
      this.letGo();
    } else if (control === PARAMETER_COARSE) {
      of.coarse = value;
      of.parameter = -1;
    } else if (control === PARAMETER_FINE) {
      of.parameter = of.coarse === 0 ? value : -1;
    } else if (control === DATA_COARSE && of.parameter === BEND_RANGE) {
      this.setRange(channel, value);
    } else if (control === DATA_FINE && of.parameter === BEND_RANGE) {
      this.setRange(channel, Math.floor(of.range) + value / 100);
    } else if (control === DATA_COARSE && of.parameter === ZONE && [LOWER_MANAGER, UPPER_MANAGER].includes(channel)) {
      this.setZone(channel, value);
    }
  }

  // A member's range is that of all members of its zone.
  setRange(channel, semitones) {
    const zone = this.members.find(({channels}) => channels.includes(channel));
    for (const one of zone ? zone.channels : [channel]) { this.channels[one].range = semitones; }
  }

  // A controller says which channels its notes have; a zone that reaches into the other takes those channels from it.
  setZone(manager, count) {
    const first = manager === LOWER_MANAGER ? 1 : CHANNELS - 1 - count;
    const channels = Array.from({length: Math.min(count, CHANNELS - 1)}, (_, i) => first + i);
    this.members = this.members.filter(zone => zone.manager !== manager);
    for (const zone of this.members) { zone.channels = zone.channels.filter(one => !channels.includes(one)); }
    if (!count) { return; }
    if (!this.free) {
      this.letGo();
      this.map = this.maps.at(-1);
      this.switched(this.maps.length - 1);
    }
    this.members.push({manager, channels});
    this.channels[manager].range = USUAL_BEND;
    for (const one of channels) { this.channels[one].range = MEMBER_BEND; }
  }
}
