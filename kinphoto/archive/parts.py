"""Everything that can be done with an archive: the tables of its parts, each line a method (`archive/part.py`)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kinphoto.archive.part import Part, derives, later, reads, rehearses, writes, writes_in_steps

if TYPE_CHECKING:
    from kinphoto.archive.asking import name_offers, open_photographs, questions, who
    from kinphoto.archive.catalogue import containers, freshness, privacy
    from kinphoto.archive.collection import (
        album_pages,
        arranging,
        bed_outlines,
        better,
        care,
        container_pages,
        cutting,
        hand_over,
        images,
        joining,
        latest_scans,
        names_inside,
        numbers,
        pairing,
        photograph_cards,
        photograph_page,
        progress,
        reading_inside,
        relocating,
        removing,
        renaming,
        replacing,
        resolution_floors,
        rotation,
        scan_checks,
        scanning,
        straightening,
        tonight,
        views,
        watching,
        whereabouts,
        words_inside,
    )
    from kinphoto.archive.dates import (
        conflicts,
        date_changes,
        dispute,
        estimates,
        explain,
        hindsight,
        one_photograph,
        outcome,
        strip,
    )
    from kinphoto.archive.faces import alike as alike_faces
    from kinphoto.archive.faces import deciding, switch
    from kinphoto.archive.faces import offers as face_offers
    from kinphoto.archive.faces import searching as face_search
    from kinphoto.archive.giving import copies, deposit, prints, selection, sheets, site
    from kinphoto.archive.keeping import backup, fixity, package, state
    from kinphoto.archive.people import (
        births,
        couples,
        kinship,
        lifeline,
        overview,
        people,
        pictures,
        portraits,
        proband,
    )
    from kinphoto.archive.search import about, listing, searching, years
    from kinphoto.archive.statements import (
        appearances,
        claims,
        consenting,
        dates_in_words,
        descriptions,
        frames,
        history,
        informants,
        recorded_faces,
        spreadsheets,
        telling,
        withdrawing,
    )
    from kinphoto.archive.tree import checking, exporting, importing
else:
    name_offers, open_photographs, questions, who = later("asking", "name_offers open_photographs questions who")
    containers, freshness, privacy = later("catalogue", "containers freshness privacy")
    arranging, container_pages, images, joining = later("collection", "arranging container_pages images joining")
    photograph_cards, photograph_page, removing = later("collection", "photograph_cards photograph_page removing")
    names_inside, replacing, rotation = later("collection", "names_inside replacing rotation")
    relocating, scan_checks, scanning, views = later("collection", "relocating scan_checks scanning views")
    numbers, renaming, tonight, watching = later("collection", "numbers renaming tonight watching")
    cutting, latest_scans, pairing = later("collection", "cutting latest_scans pairing")
    album_pages, bed_outlines = later("collection", "album_pages bed_outlines")
    care, hand_over, progress = later("collection", "care hand_over progress")
    reading_inside, whereabouts, words_inside = later("collection", "reading_inside whereabouts words_inside")
    better, resolution_floors, straightening = later("collection", "better resolution_floors straightening")
    conflicts, estimates, explain, hindsight = later("dates", "conflicts estimates explain hindsight")
    date_changes, dispute, outcome = later("dates", "date_changes dispute outcome")
    one_photograph, strip = later("dates", "one_photograph strip")
    alike_faces, deciding, face_offers, face_search, switch = later("faces", "alike deciding offers searching switch")
    backup, fixity, package, state = later("keeping", "backup fixity package state")
    births, couples, kinship, lifeline = later("people", "births couples kinship lifeline")
    overview, people, pictures, proband = later("people", "overview people pictures proband")
    (portraits,) = later("people", "portraits")
    copies, prints, selection, sheets, site = later("giving", "copies prints selection sheets site")
    (deposit,) = later("giving", "deposit")
    appearances, claims, consenting, descriptions = later("statements", "appearances claims consenting descriptions")
    frames, history, informants, recorded_faces = later("statements", "frames history informants recorded_faces")
    about, listing, searching, years = later("search", "about listing searching years")
    spreadsheets, telling, withdrawing = later("statements", "spreadsheets telling withdrawing")
    (dates_in_words,) = later("statements", "dates_in_words")
    checking, exporting, importing = later("tree", "checking exporting importing")


class Tree(Part):
    """The family tree: imported from a GEDCOM file, again when it has grown, checked, written with its pictures."""

    import_file = writes(importing.import_tree)
    plan_import = rehearses(importing.rehearse)
    check = reads(checking.check, fresh=checking.needs_estimates)
    kept_check = reads(checking.check)
    write_file = derives(exporting.write_tree)


class Scans(Part):
    """The image files: indexed, checked, joined where they show one object, turned, replaced by better ones, named.
    None is touched, but that `rename` gives names."""

    add = writes_in_steps(scanning.add_scans)
    watch = writes_in_steps(watching.watch)
    tonight = reads(tonight.tonight)
    latest = reads(latest_scans.latest)
    theme_in_use = reads(watching.theme_in_use)
    back_of_previous = writes(latest_scans.back_of_previous)
    scanned_again = writes(latest_scans.again)
    join = writes(joining.join)
    separate = writes(joining.separate)
    turn = writes(rotation.turn)
    turn_all = writes(rotation.turn_all)
    captures = reads(straightening.captures)
    capture = derives(straightening.capture)
    say_capture = writes(straightening.say_capture)
    straighten = writes_in_steps(straightening.straighten)
    straighten_sure = writes(straightening.straighten_sure)
    show_as_taken = writes(straightening.show_as_taken)
    compare = reads(better.compare)
    replace = writes_in_steps(replacing.replace_scan)
    pairs = reads(pairing.proposals)
    confirm_pairs = writes(pairing.confirm)
    confirm_sure_pairs = writes(pairing.confirm_sure)
    reject_pairs = writes(pairing.reject)

    beds = reads(bed_outlines.beds)
    prints_on = reads(album_pages.prints_on)
    outlines = derives(bed_outlines.outlines)
    set_outlines = writes(bed_outlines.set_outlines)
    cut = writes_in_steps(cutting.cut)

    names = reads(numbers.names)
    hold_number = writes(numbers.hold_number)
    plan_names = reads(renaming.plan)
    rename = writes_in_steps(renaming.rename)

    find_again = writes_in_steps(relocating.find_again)
    check = derives(scan_checks.check)
    findings = reads(scan_checks.found)
    accept = writes(scan_checks.accept)
    accept_on = writes(scan_checks.accept_on)
    floors = reads(resolution_floors.floors)
    set_floor = writes(resolution_floors.set_floor)

    folders = reads(containers.folders)
    written_names = reads(names_inside.names_inside)
    take_names = writes_in_steps(names_inside.take_names)
    written_words = reads(words_inside.words_inside)
    read_inside = writes_in_steps(reading_inside.read_inside)
    roots = reads(whereabouts.scan_folders)
    move_root = derives(whereabouts.move_folder)
    picture = reads(images.scan_picture)
    face_picture = reads(images.face_picture)


class Photographs(Part):
    """The photographs as objects, each with everything recorded about it, and the containers they are in."""

    details = reads(photograph_page.read_page)
    cards = reads(photograph_cards.cards_by_code)
    views = reads(views.views)
    faces = reads(recorded_faces.faces)
    describe = writes(descriptions.describe_one)
    describe_alike = writes(descriptions.describe_alike)
    remove = writes(removing.remove)
    removal_preview = reads(removing.preview)

    containers = reads(container_pages.container_rows)
    container_names = reads(container_pages.named_boxes)
    container = reads(container_pages.container_page)
    few_of_containers = reads(container_pages.few_of_containers)
    rename_container = writes(arranging.rename)
    nest_container = writes(arranging.nest)
    move = writes(arranging.place)
    reorder = writes(arranging.reorder)
    say_order = writes(arranging.say_order)

    scanning_progress = reads(progress.progress)
    hand_over = reads(hand_over.hand_over)
    care = reads(care.care)
    set_quota = writes(progress.set_quota)
    expect = writes(progress.expect)
    lend = writes(progress.lend)
    give_back = writes(progress.give_back)

    shown_to_anybody = reads(privacy.of_the_dead)
    is_shown_to_anybody = reads(privacy.is_for_anybody)


class People(Part):
    """The people of the tree and outside it: their lives, pictures and kin."""

    find = reads(people.find)
    life = reads(lifeline.lifeline)
    pictures = reads(pictures.pictures, fresh=True)
    portraits = reads(portraits.portraits)
    couples = reads(couples.couples)
    suggested_births = reads(births.suggested)
    living = reads(privacy.the_living)
    add = writes(people.add)
    identify = writes(people.identify)

    kin_phrases = reads(kinship.phrases_by_code)
    kinship = reads(kinship.kin)
    choose_proband = writes(proband.choose)
    proband = reads(proband.proband)


class Statements(Part):
    """What somebody says of a photograph, by itself or in a spreadsheet, who says it, and the log of every change."""

    link = writes(appearances.record_link)
    link_all = writes(appearances.link_all)
    link_newcomer = writes(people.link_newcomer)
    move_face = writes(frames.move_face)
    take_name_off = writes(frames.remove_name)
    record = writes(claims.record)
    record_all = writes(claims.record_all)
    record_making = writes(claims.record_making)
    record_making_of_all = writes(claims.record_making_of_all)
    relate = writes(claims.record_relation)
    relate_all = writes(claims.relate_all)
    apply_spreadsheet = writes(spreadsheets.apply_spreadsheet)
    withdraw = writes(withdrawing.withdraw)
    reinstate = writes(withdrawing.reinstate)

    add_informant = writes(informants.add)
    rename_informant = writes(informants.rename)
    informant_names = reads(informants.names)
    informants = reads(informants.informants)
    date_typed = reads(dates_in_words.date_typed)
    dates_in_words = reads(dates_in_words.dates_in_words)

    undo = writes_in_steps(renaming.undo)
    revision = reads(history.revision)
    changes = reads(history.some)
    newest_change = reads(history.newest)
    numbers_after = reads(history.numbers_after)
    history = reads(history.log)


class Stories(Part):
    """What was told, in words or as recordings: who told it, when, and about which photographs and people."""

    tell = writes_in_steps(telling.tell)
    change = writes(telling.change)
    list = reads(telling.stories)
    about = reads(telling.about)
    details = reads(telling.story)


class Dates(Part):
    """When each photograph was taken, why, and what does not fit together: kept until something is changed."""

    explanation = reads(explain.explain, fresh=True)
    evidence_strip = derives(strip.strip)
    outcome = derives(outcome.outcome)
    hindsight = reads(hindsight.hindsight)

    settle = writes(conflicts.settle, fresh=conflicts.has_to_be_found_again)
    kept_conflicts = reads(conflicts.conflicts)
    conflicts = reads(conflicts.conflicts, fresh=True)
    dispute = reads(dispute.dispute)
    statements_set_aside = reads(estimates.set_aside)

    freshness = reads(freshness.freshness)
    refresh = derives(estimates.refresh)
    refresh_in_memory = derives(estimates.refresh_in_memory)
    refresh_photographs = derives(one_photograph.date_now)
    kept_estimates = reads(estimates.kept_dates)
    kept_around = reads(date_changes.kept_around)
    moved_since = reads(date_changes.moved_since)
    estimates = reads(estimates.dates, fresh=True)


class Asking(Part):
    """What to ask next, most telling first, and who somebody in a photograph could be."""

    kept_questions = reads(questions.kept)
    has_current_questions = reads(questions.are_current)
    work_out_questions = reads(questions.work_out)
    questions = reads(questions.ask, fresh=True)
    candidates = reads(who.who)
    name_suggestions = reads(name_offers.offers)
    open_photographs = reads(open_photographs.open_photographs)


class Faces(Part):
    """Faces that this computer finds on the scans: off until turned on, offered and never decided, erased by one
    switch."""

    state = reads(switch.state)
    turn_on = derives(switch.turn_on)
    turn_off = derives(switch.turn_off)
    leave_out = writes(switch.leave_out)
    find = derives(face_search.find)
    offers = reads(face_offers.offers)
    accept = writes(face_offers.accept)
    refuse = writes(face_offers.refuse)
    alike = reads(alike_faces.alike)
    name_together = writes(deciding.name_together)
    lay_apart = writes(deciding.lay_apart)
    picture = reads(deciding.picture)


class Search(Part):
    """Photographs, people and containers by words, by what they lack, and by what they are called."""

    find = reads(searching.search)
    quotes = reads(searching.quotes_for)
    details = reads(about.about, fresh=about.is_dated)
    photographs = reads(listing.listed, fresh=True)
    overview = reads(overview.overview)
    decades = reads(years.decades)
    decade = reads(years.decade)


class Give(Part):
    """What leaves the archive, for whom, and what of the living may: the household, named relatives, the public."""

    audiences = reads(consenting.audiences)
    add_audience = writes(consenting.add_audience)
    record_consent = writes(consenting.record_consent)
    record_telling = writes(consenting.record_telling)
    release = writes(consenting.release)
    revoke = writes(consenting.revoke)
    consents = reads(consenting.consents)
    mark_private = writes(consenting.mark_private)

    report = reads(selection.report, fresh=True)
    kept_report = reads(selection.report)
    write_copies = derives(copies.write_copies)
    write_sheets = derives(sheets.write_sheets)
    write_labels = derives(sheets.write_labels)
    write_site = derives(site.write_site)
    make_deposit = derives(deposit.make_deposit)
    write_prints = derives(prints.write_prints)
    count_print_sizes = reads(prints.count_sizes)


class Keep(Part):
    """Keeping the archive: copies of it elsewhere, and whether the scans are what they were."""

    back_up = derives(backup.back_up)
    set_daily = derives(backup.set_daily)
    make_package = derives(package.make_package)
    verify = derives(fixity.verify)
    problems = reads(fixity.problems)
    state = reads(state.state)
