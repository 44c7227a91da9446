import { useState } from 'react';
import { useSay } from '../messages/index.tsx';
import { Ask } from './Ask.tsx';
import { BoaterCard } from './BoaterCard.tsx';
import { type Boat, settled } from './boat.ts';
import { CraftPick, Outfit } from './Craft.tsx';
import { DoneBoat } from './Done.tsx';
import { DryClock } from './Dry.tsx';
import { FixHere } from './Fix.tsx';
import { Frame } from './Frame.tsx';
import { OrderCode, TakeOver } from './Order.tsx';
import { OverrideScreen } from './Override.tsx';
import { isOffer, may, standingOnRecord } from './offers.ts';
import { Prompt } from './Prompt.tsx';
import { usePrefs } from './prefs.ts';
import { ReceiptScreen } from './Receipt.tsx';
import { Refuse } from './Refuse.tsx';
import { go, useRoute } from './route.ts';
import { SameBoat } from './SameBoat.tsx';
import { ShortOfTime } from './Short.tsx';
import { useBoat } from './state.tsx';
import { useWalk } from './useWalk.ts';
import { VerdictScreen } from './VerdictScreen.tsx';
import { Walk } from './Walk.tsx';
import { WashOffer } from './WashOffer.tsx';

/** A boat, at whatever stage it is. The stage follows from its acts, so undo walks back through the stages. */
export function BoatScreen() {
  const { id, sheet } = useRoute();
  const boat = useBoat(id);
  const say = useSay();
  if (!boat) {
    return (
      <Frame>
        <h1>{say('boat.gone')}</h1>
        <p>{say('boat.goneWhy')}</p>
      </Frame>
    );
  }
  // An address kept from before opens nothing that a boat on record does not offer.
  if (boat.sealed && isOffer(sheet) && !may(standingOnRecord(boat), sheet)) return <DoneBoat boat={boat} />;
  switch (sheet) {
    case 'refuse':
      return <Refuse boat={boat} />;
    case 'card':
      return <BoaterCard boat={boat} />;
    case 'receipt':
      return <ReceiptScreen boat={boat} />;
    case 'order':
      return <OrderCode boat={boat} />;
    case 'over':
      return <TakeOver boat={boat} />;
    case 'dry':
      return <DryClock boat={boat} />;
    case 'same':
      return <SameBoat boat={boat} />;
  }
  if (boat.sealed) return <DoneBoat boat={boat} />;
  if (!boat.setup) return <CraftPick boat={boat} />;
  switch (sheet) {
    case 'short':
      return <ShortOfTime boat={boat} />;
    case 'fix':
      return <FixHere boat={boat} />;
    case 'override':
      return <OverrideScreen boat={boat} />;
    case 'washoffer':
      return <WashOffer boat={boat} />;
  }
  if (boat.refused !== undefined) return <VerdictScreen boat={boat} />;
  if (boat.asking) return <Ask boat={boat} />;
  return <OnTheWalk boat={boat} walkAgain={sheet === 'walk'} />;
}

function OnTheWalk({ boat, walkAgain }: { boat: Boat; walkAgain: boolean }) {
  const say = useSay();
  const { turned } = usePrefs();
  const [outfit, setOutfit] = useState(false);
  const setup = boat.setup;
  const { value: walk, error } = useWalk(boat, turned);
  if (!setup) return null;
  if (outfit) return <Outfit boat={boat} onDone={() => setOutfit(false)} />;
  if (error) {
    return (
      <Frame undo={boat.id}>
        <h1>{say('boat.noWalk')}</h1>
        <p className="trouble">{error}</p>
      </Frame>
    );
  }
  if (!walk) return <Frame undo={boat.id}>{null}</Frame>;
  // A craft from which nothing has to run first goes straight to the walk; what to mind stands there too.
  if (!boat.started && walk.round.first.length > 0)
    return <Prompt boat={boat} walk={walk} onOutfit={() => setOutfit(true)} />;
  const left = walk.round.stops.some((s) => !settled(boat, s.place));
  if (left || walkAgain)
    return <Walk boat={boat} walk={walk} onOutfit={() => setOutfit(true)} onVerdict={() => go('boat', boat.id)} />;
  return <VerdictScreen boat={boat} />;
}
