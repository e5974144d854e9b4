namespace Hotlight.Workflows.Readings;

/// <summary>Works agreement out over what is kept. Cases that are blind to whoever asks are left out before anything is counted.</summary>
public sealed class AgreementWorkflow
{
    private readonly IReadingStore store;
    private readonly ReadingWorkflow readings;

    /// <summary>Creates the workflow.</summary>
    /// <param name="store">Where readings are kept.</param>
    /// <param name="readings">Says what is blind to whom.</param>
    public AgreementWorkflow(IReadingStore store, ReadingWorkflow readings)
    {
        ArgumentNullException.ThrowIfNull(store);
        ArgumentNullException.ThrowIfNull(readings);
        this.store = store;
        this.readings = readings;
    }

    /// <summary>The report.</summary>
    /// <param name="query">Which cases and readers.</param>
    /// <param name="readerId">Who asks; null: nobody was chosen.</param>
    /// <param name="cancellation">Stops the work.</param>
    public async Task<AgreementReport> ReportAsync(AgreementQuery query, Guid? readerId, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(query);
        IReadOnlyList<OwnReading> finished = await store.ListAsync(
            new ReadingQuery
            {
                IsFinished = true,
                From = query.From,
                Before = query.Before,
                CaseIds = query.CaseIds.Count == 0 ? null : query.CaseIds,
                ReaderIds = query.ReaderIds.Count == 0 ? null : query.ReaderIds,
            },
            cancellation);

        // A reading after an earlier one is no first look, whether the earlier one falls into the period or not.
        OwnReading[] counted = [.. finished.Where(each => !each.Reader.IsConsensus && each.Condition != ReadingCondition.Again && (!query.BlindOnly || each.Condition == ReadingCondition.Blind))];
        IReadOnlySet<Guid> blind = await readings.BlindToAsync(readerId, cancellation);
        ReadCase[] cases =
        [
            .. (await store.CasesAsync([.. counted.Select(each => each.CaseId).Distinct()], cancellation))
                .Where(each => (query.ProjectionId is null || each.ProjectionId == query.ProjectionId) && (query.Tag is null || HasTag(each, query.Tag))),
        ];
        ReadCase[] seen = [.. cases.Where(each => !blind.Contains(each.Id))];
        return await Task.Run(() => AgreementReport.Of(counted, seen, cases.Length - seen.Length, query.WithLinesLeft), cancellation);
    }

    /// <summary>What can be chosen: cases that were read and may be seen, their tags and projections, and the readers.</summary>
    /// <param name="readerId">Who asks; null: nobody was chosen.</param>
    /// <param name="cancellation">Stops the work.</param>
    public async Task<AgreementChoices> ChoicesAsync(Guid? readerId, CancellationToken cancellation = default)
    {
        OwnReading[] finished = [.. (await store.ListAsync(new ReadingQuery { IsFinished = true }, cancellation)).Where(each => !each.Reader.IsConsensus)];
        IReadOnlySet<Guid> blind = await readings.BlindToAsync(readerId, cancellation);
        ReadCase[] cases = [.. (await store.CasesAsync([.. finished.Select(each => each.CaseId).Distinct()], cancellation)).OrderBy(each => each.Title, StringComparer.OrdinalIgnoreCase)];
        return new AgreementChoices(
            [.. finished.GroupBy(each => each.Reader.Id).Select(group => group.MaxBy(each => each.Finished)!.Reader).OrderBy(each => each.Pseudonym, StringComparer.OrdinalIgnoreCase)],
            cases,
            [.. cases.SelectMany(TagsOf).Distinct(StringComparer.OrdinalIgnoreCase).Order(StringComparer.OrdinalIgnoreCase)],
            [.. cases.Select(each => each.ProjectionId).OfType<string>().Distinct().Order(StringComparer.Ordinal)],
            blind);
    }

    private static IEnumerable<string> TagsOf(ReadCase read) => read.Tags.Split(',', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);

    private static bool HasTag(ReadCase read, string tag) => TagsOf(read).Contains(tag, StringComparer.OrdinalIgnoreCase);
}

/// <summary>What can be chosen for agreement.</summary>
/// <param name="Readers">Who finished a reading, by pseudonym.</param>
/// <param name="Cases">Cases that were read, by title.</param>
/// <param name="Tags">Their tags.</param>
/// <param name="ProjectionIds">Their projections.</param>
/// <param name="Blind">Cases that are blind to whoever asks.</param>
public sealed record AgreementChoices(IReadOnlyList<CaseReader> Readers, IReadOnlyList<ReadCase> Cases, IReadOnlyList<string> Tags, IReadOnlyList<string> ProjectionIds, IReadOnlySet<Guid> Blind);
