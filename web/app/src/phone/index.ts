// The phone and the app on it: warnings, installation, versions, the screen kept on.
export { Gate } from './Gate.tsx';
export { useApp, useAwake, usePhone } from './hooks.ts';
export { boatOpen, Kept } from './Kept.tsx';
export { askToPersist, install, keepAwake, lookAtStorage, type PhoneState, type Warning, warnings } from './phone.ts';
export { startRamp } from './start.ts';
export { type AppState, changeOver, lookForVersion } from './updates.ts';
