-- Whose a determination, a consent or a photo is takes part in the running digests: they are counted anew.

delete from notes where name in (
    'tally of determinations', 'tally of consents', 'tally of guardian_consents', 'tally of photographers'
);
