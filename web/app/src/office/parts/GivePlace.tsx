import { useQuery } from '@tanstack/react-query';
import { useEffect, useRef } from 'react';
import { answer, api, type Schemas } from '../../shared/api.ts';
import { type Choice, dayWords, type Given, hoursWords, type Place } from '../rosters.ts';
import { say } from '../words.ts';
import { Reading, Trouble } from './State.tsx';
import { Table } from './Table.tsx';

interface Props {
  roster: string;
  place: Place;
  give: (given: Given) => void;
  close: () => void;
}

/** Who could have one place of a roster, what it breaks, and why others may not: all by the server's rules. */
export function GivePlace(props: Props) {
  const { roster, place } = props;
  const read = useQuery({
    queryKey: ['roster-place', roster, place],
    staleTime: 0, // certificates and absences may have been written down since
    queryFn: () => answer(api.GET('/api/roster/{id}/place', { params: { path: { id: roster }, query: place } })),
  });
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} again={() => void read.refetch()} />;
  return <Choices {...props} choices={read.data} key={`${place.launch}${place.day}${place.from}${place.holder}`} />;
}

function Choices(props: Props & { choices: Schemas['PlaceChoices'] }) {
  const { place } = props;
  const { row, holder, people } = props.choices;
  const heading = useRef<HTMLHeadingElement>(null);
  useEffect(() => heading.current?.focus(), []);
  const may = people.filter((p) => p.may);
  const not = people.filter((p) => !p.may);
  const at = { day: dayWords(row.day), hours: hoursWords(row), launch: row.name };
  const person = (p: Choice) => (
    <>
      {p.name}
      {p.new ? <span className="when">{say('roster.new')}</span> : null}
    </>
  );
  return (
    <section className="effect give">
      <h2 ref={heading} tabIndex={-1}>
        {holder ? say('roster.placeOf', { ...at, name: holder.name }) : say('roster.placeOpen', at)}
      </h2>
      {may.length === 0 ? (
        <p>{say('roster.nobodyMay')}</p>
      ) : (
        <Table
          label={say('roster.may')}
          caption={say('roster.mayLead')}
          rows={may}
          id={(p) => p.id}
          parts={[
            {
              head: say('roster.person'),
              cell: (p) => (
                <>
                  {person(p)}
                  {p.breaks.map((b) => (
                    <span className="breaks" key={b}>
                      {b}
                    </span>
                  ))}
                </>
              ),
            },
            { head: say('roster.weekHours'), n: true, cell: (p) => p.hours.toLocaleString('en') },
            {
              head: say('roster.give'),
              cell: (p) => (
                <button
                  type="button"
                  aria-label={say('roster.giveTo', { name: p.name })}
                  onClick={() => props.give({ ...place, person: p.id })}
                >
                  {say('roster.give')}
                </button>
              ),
            },
          ]}
        />
      )}
      {not.length ? (
        <details open={may.length === 0}>
          <summary>{say('roster.mayNot', { n: not.length })}</summary>
          <Table
            label={say('roster.mayNotLabel')}
            rows={not}
            id={(p) => p.id}
            parts={[
              { head: say('roster.person'), cell: person },
              { head: say('roster.against'), cell: (p) => p.against.join(' ') },
            ]}
          />
        </details>
      ) : null}
      <p>
        <button type="button" onClick={props.close}>
          {say('roster.leave')}
        </button>
      </p>
    </section>
  );
}
