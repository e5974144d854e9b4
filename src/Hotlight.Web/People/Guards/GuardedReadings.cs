using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;
using Hotlight.Workflows.Readings;

namespace Hotlight.Web.People.Guards;

/// <summary>The readings of a department: a reading, a remark and a sign-off are changed by the person whose they are.</summary>
internal sealed class GuardedReadings(IReadingStore inner) : IReadingStore
{
    /// <inheritdoc/>
    public Task<OwnReading> AddAsync(OwnReading reading, CancellationToken cancellation = default)
    {
        CheckReader(reading);
        return inner.AddAsync(reading, cancellation);
    }

    /// <inheritdoc/>
    public Task<OwnReading?> FindAsync(Guid id, CancellationToken cancellation = default) => inner.FindAsync(id, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<OwnReading>> ListAsync(ReadingQuery query, CancellationToken cancellation = default) => inner.ListAsync(query, cancellation);

    /// <inheritdoc/>
    public async Task<OwnReading> KeepAnswersAsync(Guid id, int version, AnswerStep step, CancellationToken cancellation = default)
    {
        await CheckOwnerAsync(id, cancellation);
        return await inner.KeepAnswersAsync(id, version, step, cancellation);
    }

    /// <inheritdoc/>
    public async Task<OwnReading> StepAnswersAsync(Guid id, int version, AnswerStepDirection direction, CancellationToken cancellation = default)
    {
        await CheckOwnerAsync(id, cancellation);
        return await inner.StepAnswersAsync(id, version, direction, cancellation);
    }

    /// <inheritdoc/>
    public async Task<OwnReading> KeepVerdictAsync(Guid id, int version, string? verdict, CancellationToken cancellation = default)
    {
        await CheckSightAsync(id, cancellation);
        return await inner.KeepVerdictAsync(id, version, verdict, cancellation);
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<GivenStep>> StepsAsync(Guid id, CancellationToken cancellation = default)
    {
        await CheckSightAsync(id, cancellation);
        return await inner.StepsAsync(id, cancellation);
    }

    /// <inheritdoc/>
    public Task AddReadingTimeAsync(Guid id, double seconds, CancellationToken cancellation = default) => inner.AddReadingTimeAsync(id, seconds, cancellation);

    /// <inheritdoc/>
    public async Task<OwnReading> FinishAsync(Guid id, int version, string caseTitle, ReadingResult result, DateTimeOffset? at = null, CancellationToken cancellation = default)
    {
        await CheckOwnerAsync(id, cancellation);
        return await inner.FinishAsync(id, version, caseTitle, result, at, cancellation);
    }

    /// <inheritdoc/>
    public async Task<bool> RemoveAsync(Guid id, CancellationToken cancellation = default)
    {
        await CheckOwnerAsync(id, cancellation);
        return await inner.RemoveAsync(id, cancellation);
    }

    /// <inheritdoc/>
    public Task<IReadOnlyList<ReadCase>> CasesAsync(IReadOnlyList<Guid> ids, CancellationToken cancellation = default) => inner.CasesAsync(ids, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<BlindCall>> CallsAsync(CancellationToken cancellation = default) => inner.CallsAsync(cancellation);

    /// <inheritdoc/>
    public Task CallAsync(BlindCall call, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.CallBlind);
        return inner.CallAsync(call, cancellation);
    }

    /// <inheritdoc/>
    public Task<bool> EndCallAsync(Guid caseId, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.CallBlind);
        return inner.EndCallAsync(caseId, cancellation);
    }

    /// <inheritdoc/>
    public Task<IReadOnlyList<CaseRemark>> RemarksAsync(Guid caseId, CancellationToken cancellation = default) => inner.RemarksAsync(caseId, cancellation);

    /// <inheritdoc/>
    public Task AddRemarkAsync(CaseRemark remark, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(remark);
        CheckSelf(remark.Author.Id);
        return inner.AddRemarkAsync(remark, cancellation);
    }

    /// <inheritdoc/>
    public Task<CaseRemark> EditRemarkAsync(Guid id, Guid authorId, int version, string text, CancellationToken cancellation = default)
    {
        CheckSelf(authorId);
        return inner.EditRemarkAsync(id, authorId, version, text, cancellation);
    }

    /// <inheritdoc/>
    public Task<IReadOnlyList<SignOff>> SignOffsAsync(Guid? learnerId, CancellationToken cancellation = default) => inner.SignOffsAsync(learnerId, cancellation);

    /// <inheritdoc/>
    public Task AddSignOffAsync(SignOff signOff, CancellationToken cancellation = default)
    {
        CheckSigner(signOff);
        return inner.AddSignOffAsync(signOff, cancellation);
    }

    /// <inheritdoc/>
    public Task<SignOff> WithdrawAsync(Guid id, string by, string reason, CancellationToken cancellation = default)
    {
        Acting.Demand(Operation.SignOff);
        return inner.WithdrawAsync(id, by, reason, cancellation);
    }

    private static bool IsProgram => Acting.Now.Kind == ActorKind.Program;

    private static void CheckSelf(Guid? id)
    {
        Acting.Demand(Operation.ReadForOneself);
        if (!IsProgram && id != Acting.Now.PersonId)
        {
            throw new NotAllowedException(Operation.ReadForOneself, Actor.Nobody);
        }
    }

    // What a group agreed on is written down by whoever leads the round, and is no person's.
    private static void CheckReader(OwnReading reading)
    {
        ArgumentNullException.ThrowIfNull(reading);
        if (reading.Reader.IsConsensus)
        {
            Acting.Demand(Operation.HoldRounds);
        }
        else
        {
            CheckSelf(reading.Reader.Id);
        }
    }

    private static void CheckSigner(SignOff signOff)
    {
        ArgumentNullException.ThrowIfNull(signOff);
        Acting.Demand(Operation.SignOff);
        CheckSelf(signOff.Supervisor.Id);
    }

    private async Task CheckOwnerAsync(Guid id, CancellationToken cancellation)
    {
        Acting.Demand(Operation.ReadForOneself);
        if (await inner.FindAsync(id, cancellation) is { } reading && !(reading.IsFinished && Acting.Now.May(Operation.HoldRounds)))
        {
            CheckReader(reading);
        }
    }

    // Nobody looks into a reading under way but its reader.
    private async Task CheckSightAsync(Guid id, CancellationToken cancellation)
    {
        if (await inner.FindAsync(id, cancellation) is { IsFinished: false } reading)
        {
            CheckReader(reading);
        }
        else
        {
            Acting.Demand(Operation.ReadForOneself);
        }
    }
}
