import { lazy, Suspense } from 'react';
import { useSay } from '../messages/index.tsx';
import { BoatScreen } from './BoatScreen.tsx';
import { CloseShift } from './Close.tsx';
import { CraftPick } from './Craft.tsx';
import { BoatsList } from './Done.tsx';
import { Frame } from './Frame.tsx';
import { Home } from './Home.tsx';
import { Help, IncidentSheet } from './Incident.tsx';
import { KeyIn } from './KeyIn.tsx';
import { StateScreen } from './OnPhone.tsx';
import { TakeOrder } from './Order.tsx';
import { useRoute } from './route.ts';
import { Settings } from './Settings.tsx';
import { ShiftStart } from './Shift.tsx';
import { RampProvider, useRamp } from './state.tsx';
import { TallyScreen } from './Tally.tsx';
import { Verify } from './Verify.tsx';
import { WashScreen } from './Wash.tsx';

const Practice = lazy(() => import('../practice/onPhone.tsx'));

export function App() {
  return (
    <RampProvider>
      <Screen />
    </RampProvider>
  );
}

/** While a part of the app that is not always needed is read. */
function Waiting() {
  const say = useSay();
  return (
    <Frame>
      <h1>{say('practice.title')}</h1>
    </Frame>
  );
}

function Screen() {
  const { where } = useRoute();
  const { shift } = useRamp();
  // These need no shift; every other screen belongs to one.
  switch (where) {
    case 'help':
      return <Help />;
    case 'incident':
      return <IncidentSheet />;
    case 'settings':
      return <Settings />;
    case 'state':
      return <StateScreen />;
    case 'practice':
      return (
        <Suspense fallback={<Waiting />}>
          <Practice />
        </Suspense>
      );
  }
  if (!shift) return where === 'shift' ? <ShiftStart /> : <Home />;
  switch (where) {
    case 'craft':
      return <CraftPick />;
    case 'boat':
      return <BoatScreen />;
    case 'boats':
      return <BoatsList />;
    case 'wash':
      return <WashScreen />;
    case 'tally':
      return <TallyScreen />;
    case 'verify':
      return <Verify />;
    case 'order':
      return <TakeOrder />;
    case 'keyin':
      return <KeyIn />;
    case 'close':
      return <CloseShift />;
    default:
      return <Home />;
  }
}
